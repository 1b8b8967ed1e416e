// A sound sketch of a stream: what its bursts might sound like, by one stated law.
// docs/reference/sound-sketch.md says what the law leaves out.
//
// A burst of on-time T that puts the energy E into the air heats it with a power that is constant over the
// on-time and reaches the air through a channel with the time constant tau. A heat source small against the
// wavelength radiates the rate of change of its heating power P (monopole of heat addition, e.g. Morse and
// Ingard, Theoretical Acoustics, ch. 7; from memory): p(t) = (gamma - 1) / (4 pi c^2 r) dP/dt, here at r = 1
// m:
//   p(t) = k E / (T tau) (g(t) - g(t - T)),    g(t) = exp(-t / tau) for t >= 0, else 0
//   spectrum of one burst: k E (j w) exp(-j w T / 2) sinc(f T) / (1 + j w tau),  w = 2 pi f, sinc(x) = sin(pi
//   x)/(pi x) a train of f0 bursts a second: harmonic n has the peak amplitude 2 f0 times that spectrum's
//   size at n f0.
#pragma once

#include <complex>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// k = (gamma - 1) / (4 pi c^2) for air at 20 C: gamma 1.40, c 343.2 m/s; pascal metres a (watt a second).
inline constexpr double kHeatToPressure = 0.40 / (4 * 3.14159265358979323846 * 343.2 * 343.2);

/// The energy (J, finite, >= 0) that burst number `index` of the stream puts into the air.
using BurstEnergy = std::function<double(const Burst& burst, std::size_t index)>;

/// The energies where no better ones are known: full power is one watt, and the primary current rises towards
/// its end value with the time constant 20 us, so that E(T) is the integral of (1 - exp(-t / 20 us))^2 over
/// the on-time: about the cube of short on-times, in proportion to long ones. Only ratios between bursts mean
/// something. Common practice, no published source.
[[nodiscard]] BurstEnergy energy_from_on_time(std::int64_t tick_hz);
/// One energy (J) for each burst, in order. The sketch throws Error (usage) when there are too few.
[[nodiscard]] BurstEnergy energy_by_index(std::vector<double> joules);

struct SketchOptions {
  int rate_hz = 48'000;      ///< of the samples, 44 100 to 192 000
  double channel_us = 60.0;  ///< tau: how fast the spark's heat reaches the air, 5 to 200 us
};

/// The longest song that can be sketched, in seconds: six hours, as with sounds that are read.
inline constexpr double kLongestSketchS = 6 * 3600.0;

/// The sketch as samples (Pa at 1 m, if the energies are joules), block by block: memory does not grow with
/// the song. Sample n stands at n / rate of the stream. Flat within 0.01 dB to 0.4 of the rate; what lies
/// above half the rate is taken away before it can fold back (below -90 dB), because every edge is drawn from
/// a table of the law's exact response to a windowed-sinc low-pass. The first 32 samples hold what is left of
/// a burst at the very start.
class SoundSketch {
 public:
  /// `stream` must outlive the sketch. Throws Error: bad_input when the stream breaks its invariant or is too
  /// long, usage for options out of range; reading throws usage for an energy that is none.
  SoundSketch(const BurstStream& stream, BurstEnergy energy, const SketchOptions& options = {});
  SoundSketch(const BurstStream&& stream, BurstEnergy energy, const SketchOptions& options = {}) = delete;
  SoundSketch(SoundSketch&&) noexcept;
  SoundSketch& operator=(SoundSketch&&) noexcept;
  ~SoundSketch();

  [[nodiscard]] int rate_hz() const;
  /// Samples in all: the stream's length and the last burst's end.
  [[nodiscard]] std::int64_t samples() const;
  /// Fills `block` with the next samples and returns how many there were; 0 at the end.
  std::size_t read(std::span<float> block);
  void rewind();

 private:
  class Pulses;
  std::unique_ptr<Pulses> pulses_;
};

}  // namespace burstloom
