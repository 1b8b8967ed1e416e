// Unsigned LEB128 (DWARF 4, appendix C): seven bits a byte, the least significant group first, the top bit
// set on all but the last byte.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace burstloom {

/// Appends `value` in the fewest bytes that hold it (1 to 10).
void append_leb128(std::vector<std::uint8_t>& out, std::uint64_t value);

/// A value and how many bytes it took.
struct Leb128 {
  std::uint64_t value = 0;
  std::size_t bytes = 0;
};

/// The value at the start of `in`. Nothing when `in` ends before the value does, when the value needs more
/// than 64 bits, or when it is written in more bytes than it needs: every value has one spelling only.
[[nodiscard]] std::optional<Leb128> read_leb128(std::span<const std::uint8_t> in);

}  // namespace burstloom
