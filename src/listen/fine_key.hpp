// The pitch of a note to a few cents.
#pragma once

#include "note_tracking.hpp"
#include "spectra.hpp"

namespace burstloom {

class FineKey {
 public:
  explicit FineKey(const Thinned& sound);
  /// MIDI note number with fractions: by how far the phase of the note's strongest harmonic turns in 10 ms
  /// (phase vocoder: J. Flanagan and R. Golden, Bell System Technical Journal 45, 1966), the median over the
  /// note. The nearest whole key for notes too short or too unsteady to tell.
  [[nodiscard]] double operator()(const HeardNote& note);

 private:
  Spectra spectra_;
};

}  // namespace burstloom
