// The pitch of notes to a few cents.
#pragma once

#include <vector>

#include "note_tracking.hpp"
#include "thinned.hpp"

namespace burstloom {

/// MIDI note numbers with fractions, one for each note: by how far the phase of the note's strongest harmonic
/// turns in 10 ms (phase vocoder: J. Flanagan and R. Golden, Bell System Technical Journal 45, 1966), the
/// median over the note. The nearest whole key for notes too short or too unsteady to tell. The sound is gone
/// through once, whatever the order of the notes.
[[nodiscard]] std::vector<double> fine_keys(Thinned& sound, const std::vector<HeardNote>& notes);

}  // namespace burstloom
