// A sound between its samples, through a low-pass.
#pragma once

#include <vector>

#include "burstloom/listen/sound.hpp"

namespace burstloom {

/// The sound as a band-limited function of time: a sinc under Kaiser's window (beta 8, stop band about -80
/// dB). Flat to 0.85 of the cutoff, down from 1.15 of it on. Samples outside the sound are 0; a steady offset
/// is taken out first.
class BandLimited {
 public:
  /// `sound` must outlive this. `cutoff_hz` > 0; what is over 0.46 of the sample rate counts as that.
  BandLimited(const Sound& sound, double cutoff_hz);

  [[nodiscard]] double at(double seconds) const;

 private:
  [[nodiscard]] double kernel(double samples) const;

  const Sound& sound_;
  double offset_ = 0;
  double zeros_per_sample_;     // of the sinc
  double half_width_;           // samples
  std::vector<double> kernel_;  // from its middle on, kSteps to a zero
};

}  // namespace burstloom
