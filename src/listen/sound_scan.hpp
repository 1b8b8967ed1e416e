// What is to be known of a sound, as its samples come by; and samples in memory, read again.
#pragma once

#include <algorithm>
#include <span>

#include "burstloom/listen/loudness_meter.hpp"
#include "sound_meter.hpp"

namespace burstloom {

struct SoundScan {
  explicit SoundScan(int rate_hz) : ends(rate_hz), loudness(1, rate_hz, false) {}
  void add(std::span<const float> block) {
    meter.add(block);
    ends.add(block);
    loudness.add(block);
  }
  SoundMeter meter;
  SilentEnds ends;
  LoudnessMeter loudness;
};

/// In blocks of `block` samples; 0: all at once.
class HeldReader : public SoundReader {
 public:
  HeldReader(std::span<const float> samples, std::size_t block) : left_(samples), block_(block) {}
  std::span<const float> next() override {
    const auto block = left_.first(block_ > 0 ? std::min(block_, left_.size()) : left_.size());
    left_ = left_.subspan(block.size());
    return block;
  }

 private:
  std::span<const float> left_;
  std::size_t block_;
};

inline constexpr std::size_t kHeldBlock = 65'536;
inline constexpr std::int64_t kLongestSound_s = 6 * 3600;
inline constexpr int kLowestSound_hz = 8'000, kHighestSound_hz = 192'000;

/// Says how many samples were no sound.
[[nodiscard]] std::string replaced_by_zero(std::int64_t samples);

}  // namespace burstloom
