// Unsigned LEB128 (DWARF 4, appendix C): seven bits a byte, the lowest first.
#pragma once

#include <cstdint>

#include "burstloom/common/files.hpp"

namespace burstloom::table_detail {

/// Calls `put(byte)` for each byte of a number that is not negative.
template <typename Put>
void each_leb128_byte(std::int64_t value, Put put) {
  for (; value >= 0x80; value >>= 7) put(static_cast<std::uint8_t>((value & 0x7F) | 0x80));
  put(static_cast<std::uint8_t>(value));
}

inline void append_leb128(Bytes& bytes, std::int64_t value) {
  each_leb128_byte(value, [&](std::uint8_t byte) { bytes.push_back(byte); });
}

}  // namespace burstloom::table_detail
