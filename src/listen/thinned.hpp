// A sound at a lower sample rate: enough for pitch up to 2.2 kHz, four times cheaper.
#pragma once

#include <cstddef>
#include <span>

#include "burstloom/listen/sound_source.hpp"
#include "sound_window.hpp"

namespace burstloom {

/// Every n-th sample, n the largest that leaves at least 11 025 Hz, after a linear-phase low-pass: flat to
/// 0.36 and down 70 dB from 0.52 of the new rate (Kaiser window). Sounds below 22 050 Hz keep their rate. A
/// steady offset is taken out. Sample n stands at n / rate_hz of the original: the filter adds no delay.
class Thinned {
 public:
  /// `sound` must outlive this.
  explicit Thinned(const SoundSource& sound);

  /// `count` samples from `first` on, 0 outside of the sound. Valid until the next call.
  std::span<const float> at(std::ptrdiff_t first, std::size_t count) { return window_.at(first, count); }

  const double rate_hz;

 private:
  SoundWindow window_;
};

}  // namespace burstloom
