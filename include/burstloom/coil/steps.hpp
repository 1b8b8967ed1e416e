// Streams for the bench: what to play a coil while measuring it, before any music.
#pragma once

#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Single bursts, one a second, each longer than the one before: from the shortest to the longest that the
/// profile lets a stream command, in `steps` (2 to 200) equal ratios, down to whole ticks; equal ones are
/// left out. The first starts after a second. Throws Error (usage) for other numbers of steps.
[[nodiscard]] BurstStream rising_bursts(const Profile& profile, int steps,
                                        std::int64_t tick_hz = kDefaultTickHz);

/// A steady tone of `rate_hz` (1 to 100 000) with bursts of `on_time_us`, for `seconds` (above 0, up to 600).
/// Whether the coil survives it is for the judge to say. Throws Error (usage) for other values, on-times that
/// the profile does not let a stream command, and periods too short for on-time and gap.
[[nodiscard]] BurstStream steady_tone(const Profile& profile, double rate_hz, double on_time_us,
                                      double seconds, std::int64_t tick_hz = kDefaultTickHz);

/// The order of work on the bench, a step a line, cautions included. Common practice in our own words.
[[nodiscard]] std::vector<std::string> order_of_bench_work();

}  // namespace burstloom
