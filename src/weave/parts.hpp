// Which line of the music each note belongs to: the arrangement's word, or a guess.
#pragma once

#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom::weave_detail {

/// A line of the music that rests no longer than this is still going on: nobody else takes the lead
/// meanwhile.
inline constexpr double kLineRest_s = 0.25;

/// For each note lead, bass, inner or drums, as it stands at its onset. What a note's `part` says holds.
/// Else, unless a stated lead is going on, the lead is the highest note of the most melodic line (a track's
/// channel) going on; and the lowest note is the bass, unless it leads or a stated bass sounds. A line is the
/// more melodic the more often its notes are the highest at their onset, the louder they are and the fewer of
/// its own sound with them (common practice).
[[nodiscard]] std::vector<Part> parts_of(const Score& score);

}  // namespace burstloom::weave_detail
