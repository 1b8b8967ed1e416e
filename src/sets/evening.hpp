// Pauses and temperatures, rounded to the safe side.
#pragma once

#include "burstloom/sets/built_set.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A pause in whole ticks, upwards.
[[nodiscard]] Tick ticks_of_pause(double seconds, std::int64_t tick_hz);

/// The next whole degrees.
[[nodiscard]] HeatStart in_whole_degrees(const HeatStart& start);

}  // namespace burstloom
