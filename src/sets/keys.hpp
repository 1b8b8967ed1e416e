// Content hashes: a name for everything that a result was made from.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace burstloom {

/// 128 bits of XXH3 as 32 hexadecimal digits. Meant to notice changes, not forgeries.
[[nodiscard]] std::string content_hash(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::string content_hash(std::string_view text);

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
