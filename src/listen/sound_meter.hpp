// A sound's figures, as its samples come by.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>

#include "burstloom/listen/sound_source.hpp"
#include "usable.hpp"

namespace burstloom {

class SoundMeter {
 public:
  void add(std::span<const float> samples) {
    count_ += static_cast<std::int64_t>(samples.size());
    for (const float raw : samples) {
      const auto sample = static_cast<double>(usable_or_zero(raw));
      sum_ += sample;
      energy_ += sample * sample;
      peak_ = std::max(peak_, std::abs(sample));
    }
  }
  [[nodiscard]] SoundFigures figures() const {
    const double count = count_ > 0 ? static_cast<double>(count_) : 1;
    return {count_, sum_ / count, std::sqrt(energy_ / count), peak_};
  }

 private:
  std::int64_t count_ = 0;
  double sum_ = 0, energy_ = 0, peak_ = 0;
};

/// Where a sound is over -60 dBFS (root of the mean square of 10 ms, about its mean).
class SilentEnds {
 public:
  explicit SilentEnds(int rate_hz) : frame_(std::max(1, rate_hz / 100)) {}
  void add(std::span<const float> samples) {
    while (!samples.empty()) {
      const auto left = static_cast<std::size_t>(frame_ - at_ % frame_);
      const auto here = samples.first(std::min(left, samples.size()));
      for (const float raw : here) {
        const auto sample = static_cast<double>(raw);
        sum_ += sample;
        energy_ += sample * sample;
      }
      at_ += static_cast<std::int64_t>(here.size());
      if (here.size() == left) end_frame();
      samples = samples.subspan(here.size());
    }
  }
  /// Both -1 where it never is.
  [[nodiscard]] std::int64_t first() const { return first_; }
  [[nodiscard]] std::int64_t past() const { return past_; }

 private:
  void end_frame() {
    constexpr double kSilence = 1e-6;  // -60 dBFS, squared
    const double count = static_cast<double>(frame_), mean = sum_ / count;
    if (energy_ / count - mean * mean > kSilence) {
      if (first_ < 0) first_ = at_ - frame_;
      past_ = at_;
    }
    sum_ = energy_ = 0;
  }

  std::int64_t frame_, at_ = 0, first_ = -1, past_ = -1;
  double sum_ = 0, energy_ = 0;
};

}  // namespace burstloom
