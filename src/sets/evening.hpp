// Songs and pauses as one stream.
#pragma once

#include <vector>

#include "burstloom/sets/built_set.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A pause in whole ticks, upwards.
[[nodiscard]] Tick ticks_of_pause(double seconds, std::int64_t tick_hz);

/// All songs, of one tick rate, each followed by its pause; the last one's is left out. Throws Error (usage)
/// for an evening longer than streams can be.
[[nodiscard]] BurstStream one_stream(const std::vector<const BurstStream*>& songs,
                                     const std::vector<Tick>& pauses);

/// The next whole degrees.
[[nodiscard]] HeatStart in_whole_degrees(const HeatStart& start);

}  // namespace burstloom
