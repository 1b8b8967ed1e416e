// Sounds to carry, and what is left of them in the gate.
#pragma once

#include <cmath>
#include <complex>
#include <functional>
#include <numbers>
#include <vector>

#include "burstloom/weave/carry.hpp"

namespace burstloom::testing_carry {

using Complex = std::complex<double>;
inline constexpr double kTau = 2 * std::numbers::pi;

// A coil that is driven nearly all the time: 10 to 50 % of 20 kHz,.
inline Profile continuous_profile() {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 5;
  profile.limits.on_time_max_us = 25;
  profile.limits.gap_us = 2;
  profile.limits.duty = {{10, 70}, {1000, 60}};
  return profile;
}

inline Sound sound_of(double seconds, const std::function<double(double)>& value, int rate_hz = 48'000) {
  Sound sound{.rate_hz = rate_hz, .samples = {}, .title = "", .remarks = {}};
  for (int i = 0; i < static_cast<int>(seconds * rate_hz); ++i)
    sound.samples.push_back(static_cast<float>(value(static_cast<double>(i) / rate_hz)));
  return sound;
}

inline Sound tone(double hz, double seconds = 0.3) {
  return sound_of(seconds, [hz](double t) { return 0.5 * std::sin(kTau * hz * t); });
}

// Fourier coefficients k / T of the gate and of the sound, both seen through the same window (Hann, from
// `from_s` for `length_s`): the gate's by the integral over each burst at its middle.
struct Coefficients {
  std::vector<Complex> gate, sound;
};
inline Coefficients coefficients(const Carried& carried, const Sound& sound, std::int64_t tick_hz, double from_s,
                          double length_s, double highest_hz) {
  const auto window = [&](double t) {
    const double x = (t - from_s) / length_s;
    return x < 0 || x > 1 ? 0.0 : 0.5 - 0.5 * std::cos(kTau * x);
  };
  Coefficients result;
  for (int k = 1; k / length_s < highest_hz; ++k) {
    const double w = kTau * k / length_s;
    Complex gate = 0, source = 0;
    for (const WantedBurst& burst : carried.wanted.bursts) {
      const double begin = static_cast<double>(burst.start) / static_cast<double>(tick_hz);
      const double on = static_cast<double>(burst.on) / static_cast<double>(tick_hz), middle = begin + on / 2;
      gate += window(middle) * 2 * std::sin(w * on / 2) / w * std::polar(1.0, -w * middle);
    }
    for (std::size_t i = 0; i < sound.samples.size(); ++i) {
      const double t = static_cast<double>(i) / sound.rate_hz;
      source += window(t) * static_cast<double>(sound.samples[i]) / sound.rate_hz * std::polar(1.0, -w * t);
    }
    result.gate.push_back(gate);
    result.sound.push_back(source);
  }
  return result;
}

// Signal to noise (dB) of the gate: what is the sound times one gain, over all that is not. The lowest bins
// hold the level that the bursts' middle follows, and are left out.
inline double signal_to_noise_db(const Carried& carried, const Sound& sound, double highest_hz,
                          std::int64_t tick_hz = kDefaultTickHz) {
  constexpr double kFrom = 0.06, kLength = 0.18;
  const Coefficients c = coefficients(carried, sound, tick_hz, kFrom, kLength, highest_hz);
  constexpr std::size_t kLowest = 10;  // 55 Hz
  Complex product = 0;
  double source = 0;
  for (std::size_t k = kLowest; k < c.gate.size(); ++k) {
    product += c.gate[k] * std::conj(c.sound[k]);
    source += std::norm(c.sound[k]);
  }
  const Complex gain = product / source;
  double signal = 0, noise = 0;
  for (std::size_t k = kLowest; k < c.gate.size(); ++k) {
    signal += std::norm(gain * c.sound[k]);
    noise += std::norm(c.gate[k] - gain * c.sound[k]);
  }
  return 10 * std::log10(signal / noise);
}

}  // namespace burstloom::testing_carry
