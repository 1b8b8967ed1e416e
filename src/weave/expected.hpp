// About how many bursts notes will be, before any is made.
#pragma once

#include <vector>

#include "burstloom/listen/listen.hpp"
#include "burstloom/score/score.hpp"
#include "voices.hpp"

namespace burstloom::weave_detail {

/// Of notes that sound: those that die away make it less, bends within a note a little more or less.
[[nodiscard]] double expected_bursts(const std::vector<Sounding>& sounding, const Score& score,
                                     double highest_hz);
/// Of strokes of percussion.
[[nodiscard]] double expected_drum_bursts(const Score& score);
/// Of a pitch that is followed until `length_s`.
[[nodiscard]] double expected_bursts(const PitchTrack& track, double length_s, double highest_hz);

}  // namespace burstloom::weave_detail
