// A score as a Standard MIDI File, to edit in any sequencer.
#pragma once

#include "burstloom/common/files.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom {

/// Format 1 at 120 quarter notes a minute and 960 ticks each (a tick is 0.52 ms): a track with title and
/// tempo, then one a channel, in General MIDI's order. Keys are rounded to whole ones; drums go to channel
/// 10, pitched notes of channel 10 to 11. Controllers' curves are not written. Throws Error (usage) for a
/// score longer than a day.
[[nodiscard]] Bytes to_midi(const Score& score);

}  // namespace burstloom
