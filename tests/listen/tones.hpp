// Sounds with a known truth.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "burstloom/listen/listen.hpp"

namespace burstloom::test {

inline constexpr double two_pi = 2.0 * std::numbers::pi;

/// `wave` of the time in seconds, sampled.
template <typename Wave>
Sound sampled(int rate_hz, double length_s, Wave wave) {
  Sound sound;
  sound.rate_hz = rate_hz;
  const auto count = static_cast<std::size_t>(std::llround(length_s * rate_hz));
  for (std::size_t n = 0; n < count; ++n)
    sound.samples.push_back(static_cast<float>(wave(static_cast<double>(n) / rate_hz)));
  return sound;
}

inline Sound sine(int rate_hz, double length_s, double hz, double peak = 0.5) {
  return sampled(rate_hz, length_s, [=](double t) { return peak * std::sin(two_pi * hz * t); });
}

/// Harmonics `first` to `last` with amplitudes falling as 1/h and scattered phases, none past 0.45 of the
/// rate.
inline Sound harmonics(int rate_hz, double length_s, double hz, int first, int last) {
  return sampled(rate_hz, length_s, [=](double t) {
    double sum = 0;
    for (int h = first; h <= last && h * hz < 0.45 * rate_hz; ++h)
      sum += std::sin(two_pi * h * hz * t + h * h) * first / h;
    return 0.2 * sum;
  });
}

inline double cents(double hz, double reference_hz) {
  return 1200.0 * std::log2(hz / reference_hz);
}

inline PitchTrack follow(const Sound& sound) {
  return std::get<PitchTrack>(listen_follow(sound));
}
inline std::vector<Moment> edges(const Sound& sound) {
  return std::get<Moments>(listen_edges(sound)).moments;
}

inline bool voiced(const PitchPoint& point) {
  return point.hz > 0;
}
inline std::size_t voiced_points(const PitchTrack& track) {
  return static_cast<std::size_t>(std::count_if(track.points.begin(), track.points.end(), voiced));
}

/// What a track says at a time: its last point until then.
inline double hz_at(const PitchTrack& track, double at_s) {
  const auto after = std::upper_bound(track.points.begin(), track.points.end(), at_s,
                                      [](double t, const PitchPoint& p) { return t < p.at_s; });
  return after == track.points.begin() ? 0.0 : std::prev(after)->hz;
}

}  // namespace burstloom::test
