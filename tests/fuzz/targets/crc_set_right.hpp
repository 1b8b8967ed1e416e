// Damage with the checksum set right, so that it gets past it (docs/reference/burst-format.md).
#pragma once

#include <cstdint>
#include <span>

#include "burstloom/common/files.hpp"

namespace burstloom::fuzz {

inline constexpr std::size_t kCrcPart = 12;

/// The last twelve bytes become the part CRC3 of all before them.
inline Bytes crc_set_right(std::span<const std::uint8_t> bytes) {
  Bytes fixed(bytes.begin(), bytes.end());
  if (fixed.size() < kCrcPart) return fixed;
  fixed.resize(fixed.size() - kCrcPart);
  const std::uint32_t crc = crc32(fixed);
  for (const char byte : {'C', 'R', 'C', '3', '\4', '\0', '\0', '\0'})
    fixed.push_back(static_cast<std::uint8_t>(byte));
  for (unsigned shift = 0; shift < 32; shift += 8) fixed.push_back(static_cast<std::uint8_t>(crc >> shift));
  return fixed;
}

}  // namespace burstloom::fuzz
