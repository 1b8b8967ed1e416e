// What the ways of listening ask of a sound, and how they read levels.
#pragma once

#include <cmath>

namespace burstloom {

/// Samples past a million times full scale are as little sound as "not a number" is; below it, sums of
/// squares stay finite in single precision.
inline constexpr float largest_sample = 1e6F;

[[nodiscard]] inline bool usable(float sample) {
  return std::abs(sample) <= largest_sample;
}
[[nodiscard]] inline float usable_or_zero(float sample) {
  return usable(sample) ? sample : 0.0F;
}

/// Throws Error (bad_input) unless a sound's rate lies within 1 kHz to 10 MHz.
void require_usable_rate(int rate_hz);

/// A running level as strength 0 to 1: the square root of its share of the song's loudest level, so that a
/// song recorded softly plays as loud as any other. The root undoes the customary response of synthesisers,
/// 40 dB a decade of velocity (General MIDI developer guidelines; from memory).
[[nodiscard]] inline double strength_of(double level, double loudest) {
  return loudest > 0 ? std::sqrt(std::fmin(1.0, std::fmax(0.0, level / loudest))) : 0.0;
}

}  // namespace burstloom
