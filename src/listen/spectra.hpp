// A sound's spectra, one after the other: magnitudes at third-of-a-semitone steps for pitch, and in a short
// window for onsets.
#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "thinned.hpp"
#include "transforms.hpp"

namespace burstloom {

inline constexpr double kHop_s = 0.010;

/// Four moments, the earliest first.
using Moments4 = std::array<double, kLanes>;

/// Energies, squares of magnitudes, of Hann windows around four moments: a sine of amplitude 1 in the middle
/// of a line shows 1.
class Spectra {
 public:
  /// What `samples_at` gives for a first sample and a count is looked at; outside of the sound it is silence.
  using SamplesAt = std::function<std::span<const float>(std::ptrdiff_t first, std::size_t count)>;
  Spectra(SamplesAt samples_at, double rate_hz, std::size_t size);
  /// `sound` must outlive this.
  Spectra(Thinned& sound, std::size_t size)
      : Spectra([&sound](std::ptrdiff_t first, std::size_t count) { return sound.at(first, count); },
                sound.rate_hz, size) {}

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] double rate_hz() const { return rate_hz_; }
  [[nodiscard]] double line_hz() const { return rate_hz_ / static_cast<double>(size_); }
  /// size / 2 + 1 energies; valid until the next call.
  std::span<const Four> around(const Moments4& centres_s);
  /// The same windows' complex lines, after `around`.
  [[nodiscard]] std::span<const FourComplex> lines() const { return lines_; }

 private:
  SamplesAt samples_at_;
  double rate_hz_;
  std::size_t size_;
  Transforms transforms_;
  std::vector<float> window_;
  std::vector<Four> frames_, energies_;
  std::span<const FourComplex> lines_;
};

/// The pitch axis: three steps a semitone from kLowestStepKey on.
inline constexpr int kStepsASemitone = 3;
inline constexpr double kLowestStepKey = 23;  // 31 Hz

/// From lines of equal distance to steps of equal ratio: each step is the strongest that stands within a
/// sixth of a semitone of it, so that what is a little out of tune still falls into it.
class PitchAxis {
 public:
  PitchAxis(double line_hz, double highest_hz);

  [[nodiscard]] std::size_t steps() const { return ranges_.size(); }
  void map(std::span<const Four> magnitudes, std::span<Four> steps) const;

 private:
  struct Range {
    std::size_t first, past;  // lines within
    std::size_t low_line, high_line;
    float low_share, high_share;  // of the line after, at the range's two ends
  };
  std::vector<Range> ranges_;
};

}  // namespace burstloom
