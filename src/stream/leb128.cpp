#include "burstloom/stream/leb128.hpp"

namespace burstloom {

void stream_detail::append_long_leb128(std::vector<std::uint8_t>& out, std::uint64_t value) {
  for (; value >= 0x80; value >>= 7) out.push_back(static_cast<std::uint8_t>(value | 0x80));
  out.push_back(static_cast<std::uint8_t>(value));
}

std::optional<Leb128> stream_detail::read_long_leb128(std::span<const std::uint8_t> in) {
  constexpr std::size_t kLongest = 10;  // 9 groups of 7 bits and one more bit
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < in.size() && i < kLongest; ++i) {
    const std::uint64_t group = in[i] & 0x7Fu;
    if (i == kLongest - 1 && group > 1) return std::nullopt;
    value |= group << (7 * i);
    if (in[i] >= 0x80) continue;
    if (i > 0 && group == 0) return std::nullopt;  // over-long
    return Leb128{value, i + 1};
  }
  return std::nullopt;
}

}  // namespace burstloom
