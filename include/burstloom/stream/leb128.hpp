// Unsigned LEB128 (DWARF 4, appendix C): seven bits a byte, the least significant group first, the top bit
// set on all but the last byte.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace burstloom {

namespace stream_detail {
void append_long_leb128(std::vector<std::uint8_t>& out, std::uint64_t value);
}

/// Appends `value` in the fewest bytes that hold it (1 to 10).
inline void append_leb128(std::vector<std::uint8_t>& out, std::uint64_t value) {
  if (value < 0x80) return out.push_back(static_cast<std::uint8_t>(value));  // most of them
  if (value >= 0x4000) return stream_detail::append_long_leb128(out, value);
  out.push_back(static_cast<std::uint8_t>(value | 0x80));
  out.push_back(static_cast<std::uint8_t>(value >> 7));
}

/// A value and how many bytes it took.
struct Leb128 {
  std::uint64_t value = 0;
  std::size_t bytes = 0;
};

namespace stream_detail {
[[nodiscard]] std::optional<Leb128> read_long_leb128(std::span<const std::uint8_t> in);
}

/// The value at the start of `in`. Nothing when `in` ends before the value does, when the value needs more
/// than 64 bits, or when it is written in more bytes than it needs: every value has one spelling only.
[[nodiscard]] inline std::optional<Leb128> read_leb128(std::span<const std::uint8_t> in) {
  if (!in.empty() && in[0] < 0x80) return Leb128{in[0], 1};  // most of them
  if (in.size() > 1 && in[1] < 0x80 && in[1] != 0)
    return Leb128{(in[0] & 0x7Fu) | std::uint64_t{in[1]} << 7, 2};
  return stream_detail::read_long_leb128(in);
}

}  // namespace burstloom
