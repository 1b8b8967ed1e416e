// Streams with a known truth, and spectra to look at them with.
#pragma once

#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>
#include <vector>

#include "burstloom/preview/sound_sketch.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom::test {

/// `count` bursts of `on` ticks, one every `period` ticks.
inline BurstStream train(std::int64_t tick_hz, Tick period, Tick on, int count) {
  BurstStream stream{tick_hz, period * count, {}};
  for (int i = 0; i < count; ++i) stream.bursts.push_back({i * period, on});
  return stream;
}

/// Bursts of scattered lengths and gaps that lie on no sample of any usual rate; always the same.
inline BurstStream scattered(int count, std::int64_t tick_hz = 2'000'000, Tick first = 10'000) {
  BurstStream stream;
  stream.tick_hz = tick_hz;
  std::uint32_t seed = 12345;
  const auto next = [&](std::uint32_t below) {
    seed = seed * 1664525u + 1013904223u;
    return static_cast<Tick>((seed >> 8) % below);
  };
  Tick at = first;
  for (int i = 0; i < count; ++i) {
    stream.bursts.push_back({at, 8 + next(300)});
    at = stream.bursts.back().end() + 200 + next(9'000);
  }
  stream.length = at + tick_hz / 50;
  return stream;
}

inline double decibels(double amplitude) {
  return 20.0 * std::log10(amplitude);
}

/// The discrete-time Fourier transform at one frequency, times the sample's length: comparable with the
/// integral.
inline std::complex<double> transform(const std::vector<float>& samples, int rate_hz, double hz) {
  std::complex<double> sum = 0;
  const double w = 2 * std::numbers::pi * hz / rate_hz;
  for (std::size_t n = 0; n < samples.size(); ++n)
    sum += static_cast<double>(samples[n]) * std::polar(1.0, -w * static_cast<double>(n));
  return sum / static_cast<double>(rate_hz);
}

// The sketch's law in closed form: spectrum (Pa s, at 1 m) of one burst that starts at 0.
inline std::complex<double> burst_sound_spectrum(double hz, double on_s, double energy_j, double channel_us) {
  constexpr std::complex<double> kJ{0, 1};
  const double w = 2 * std::numbers::pi * hz, x = w * on_s / 2;
  const double sinc = std::abs(x) < 1e-9 ? 1.0 : std::sin(x) / x;
  return kHeatToPressure * energy_j * kJ * w * std::exp(-kJ * x) * sinc / (1.0 + kJ * w * channel_us * 1e-6);
}

}  // namespace burstloom::test
