// Percussion in a recording: short bursts of high or low sound.
#pragma once

#include <vector>

#include "burstloom/listen/sound_source.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom {

/// Hits as notes of General MIDI's percussion: bright ones (closed hi-hat, 42), whatever instrument they are,
/// and, in music that has those, dull ones (bass drum, 36). A bright hit is a rise over 6 kHz that is gone
/// after 100 ms. None where the sample rate leaves too little above 6 kHz (under 24 kHz).
[[nodiscard]] std::vector<Note> drum_hits(const SoundSource& sound);

}  // namespace burstloom
