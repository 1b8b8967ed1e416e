// The timescales of VCD (IEEE 1364-2005, 18.2.3.4): 1, 10 or 100 of s, ms, us, ns, ps, fs.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>
#include <string_view>

#include "burstloom/stream/burst.hpp"

namespace burstloom::vcd {

/// A timescale is 10^exponent femtoseconds; 100 s is the coarsest.
inline constexpr int kCoarsest = 17;
inline constexpr int kTenNanoseconds = 7;
inline constexpr int kMicrosecond = 9;
inline constexpr int kMillisecond = 12;
inline constexpr int kSecond = 15;

/// From fs to s, each a thousand times the one before.
inline constexpr std::array<std::string_view, 6> kUnitNames{"fs", "ps", "ns", "us", "ms", "s"};

[[nodiscard]] constexpr std::int64_t power_of_ten(int exponent) {
  std::int64_t power = 1;
  for (int i = 0; i < exponent; ++i) power *= 10;
  return power;
}

/// How many units make a tick of a stream that is read from a file of this timescale (see
/// Capture::sample_us).
[[nodiscard]] constexpr std::int64_t units_per_tick(int exponent) {
  return power_of_ten(std::max(0, kTenNanoseconds - exponent));
}

/// The latest time stamp that still lies before the end of time and leaves sums room in 64 bits.
[[nodiscard]] constexpr std::int64_t latest(int exponent) {
  constexpr std::int64_t kRoom = std::numeric_limits<std::int64_t>::max() / 4;
  const std::int64_t factor = units_per_tick(exponent);
  return factor > kRoom / kEndOfTime ? kRoom : factor * (kEndOfTime - 2);
}

}  // namespace burstloom::vcd
