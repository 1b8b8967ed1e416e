// Gains that turn passages down: asked for by windows, smoothed, so that a loud passage gets softer as a
// whole.
#pragma once

#include <cstdint>
#include <vector>

#include "line.hpp"

namespace burstloom::guard_detail {

/// A gain as a whole number of 2^-30: 1 leaves bursts as they are, 0 makes them the shortest.
using Gain = std::int64_t;
inline constexpr int kGainBits = 30;
inline constexpr Gain kUnchanged = Gain{1} << kGainBits;

/// A window asks that the items [oldest, last] be turned down. Windows come in order of both ends.
struct Asked {
  std::size_t oldest, last;
  Gain gain;
};

/// For each of `items` items the least gain that any window asks of it.
[[nodiscard]] std::vector<Gain> least_gains(std::size_t items, const std::vector<Asked>& asked);

/// Least within `reach` ticks, then the mean within it: no item's mean is above what its own windows ask for,
/// and the gain begins to fall before the loud passage and has no step (the classic look-ahead limiter).
[[nodiscard]] std::vector<Gain> smooth(const std::vector<Item>& items, const std::vector<Gain>& gains,
                                       Tick reach);

}  // namespace burstloom::guard_detail
