// Rounding of limits to ticks, the safe way round.
#pragma once

#include <algorithm>
#include <cmath>

#include "burstloom/stream/burst.hpp"

namespace burstloom::table_detail {

// Decimal figures such as 4.1 us have no exact double; a millionth of a tick is no difference.
inline constexpr double kSnap = 1e-6;
inline constexpr double kMostTicks = 1e15;

// What is no number falls to the strict side: no on-time, an endless gap.
inline Tick down(double ticks) {
  return ticks >= 0 ? static_cast<Tick>(std::floor(std::min(ticks + kSnap, kMostTicks))) : 0;
}
inline Tick up(double ticks) {
  return ticks <= kMostTicks ? static_cast<Tick>(std::ceil(std::max(ticks - kSnap, 0.0))) : Tick{1} << 49;
}

}  // namespace burstloom::table_detail
