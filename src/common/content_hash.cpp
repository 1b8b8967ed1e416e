#include "burstloom/common/content_hash.hpp"

#include <xxhash.h>

#include <cstdio>

namespace burstloom {

std::string content_hash(std::span<const std::uint8_t> bytes) {
  const XXH128_hash_t hash = XXH3_128bits(bytes.data(), bytes.size());
  char text[40];
  std::snprintf(text, sizeof text, "%016llx%016llx", static_cast<unsigned long long>(hash.high64),
                static_cast<unsigned long long>(hash.low64));
  return text;
}

std::string content_hash(std::string_view text) {
  return content_hash({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

}  // namespace burstloom
