#include "spectra.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "burstloom/score/score.hpp"

namespace burstloom {

Spectra::Spectra(SamplesAt samples_at, double rate_hz, std::size_t size)
    : samples_at_(std::move(samples_at)),
      rate_hz_(rate_hz),
      size_(size),
      transforms_(size),
      window_(size),
      frames_(size),
      energies_(size / 2 + 1) {
  // Scaled so that a sine's two lines, half its amplitude each, come out as its amplitude.
  for (std::size_t i = 0; i < size; ++i)
    window_[i] = static_cast<float>(
        (1 - std::cos(2 * std::numbers::pi * (static_cast<double>(i) + 0.5) / static_cast<double>(size))) *
        2 / static_cast<double>(size));
}

std::span<const Four> Spectra::around(const Moments4& centres_s) {
  for (std::size_t lane = 0; lane < kLanes; ++lane) {
    const auto samples =
        samples_at_(std::llround(centres_s[lane] * rate_hz_) - static_cast<std::ptrdiff_t>(size_ / 2), size_);
    for (std::size_t i = 0; i < size_; ++i) frames_[i][lane] = samples[i] * window_[i];
  }
  lines_ = transforms_(frames_);
  for (std::size_t i = 0; i < lines_.size(); ++i)
    energies_[i] = lines_[i].re * lines_[i].re + lines_[i].im * lines_[i].im;
  return energies_;
}

PitchAxis::PitchAxis(double line_hz, double highest_hz) {
  const auto place = [&](double key) { return key_hz(key) / line_hz; };
  for (int i = 0;; ++i) {
    const double key = kLowestStepKey + static_cast<double>(i) / kStepsASemitone;
    const double low = place(key - 1.0 / 6), high = place(key + 1.0 / 6);
    if (key_hz(key + 1) > highest_hz) break;
    const auto whole = [](double value) { return static_cast<std::size_t>(value); };
    ranges_.push_back({whole(std::ceil(low)), whole(std::floor(high)) + 1, whole(low), whole(high),
                       static_cast<float>(low - std::floor(low)),
                       static_cast<float>(high - std::floor(high))});
  }
}

void PitchAxis::map(std::span<const Four> magnitudes, std::span<Four> steps) const {
  const auto larger = [](Four a, Four b) { return a > b ? a : b; };
  for (std::size_t i = 0; i < ranges_.size(); ++i) {
    const Range& range = ranges_[i];
    const auto between = [&](std::size_t line, float share) {
      return magnitudes[line] + share * (magnitudes[line + 1] - magnitudes[line]);
    };
    Four strongest =
        larger(between(range.low_line, range.low_share), between(range.high_line, range.high_share));
    for (std::size_t line = range.first; line < range.past; ++line)
      strongest = larger(strongest, magnitudes[line]);
    steps[i] = strongest;
  }
}

}  // namespace burstloom
