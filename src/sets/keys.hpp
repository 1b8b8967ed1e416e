// Content hashes: a name for everything that a result was made from.
#pragma once

#include <string>
#include <string_view>

#include "burstloom/common/content_hash.hpp"

namespace burstloom {

/// Collects parts; no two different lists of parts give the same text to hash.
class KeyOf {
 public:
  KeyOf& add(std::string_view part);
  KeyOf& add(double number);
  [[nodiscard]] std::string hash() const { return content_hash(parts_); }

 private:
  std::string parts_;
};

}  // namespace burstloom
