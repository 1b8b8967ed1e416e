// A value for each pitch, frame after frame, small enough for hours: `frames[n][pitch]`.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <deque>
#include <span>
#include <vector>

#include "pitch_weights.hpp"

namespace burstloom {

using PitchFrame = std::array<float, kPitches>;

/// Most pitches do not sound: only those that do are kept, about 60 bytes a frame.
class WeightFrames {
 public:
  void add(std::span<const float> weights) {
    for (std::size_t p = 0; p < kPitches; ++p)
      if (weights[p] != 0) sounding_.push_back({static_cast<std::uint32_t>(p), weights[p]});
    past_.push_back(static_cast<std::uint32_t>(sounding_.size()));
  }
  [[nodiscard]] std::size_t size() const { return past_.size(); }

  class Frame {
   public:
    [[nodiscard]] float operator[](std::size_t pitch) const {
      for (std::size_t i = first_; i < past_ && all_[i].pitch <= pitch; ++i)
        if (all_[i].pitch == pitch) return all_[i].weight;
      return 0;
    }
    [[nodiscard]] float strongest() const {
      float most = 0;
      for (std::size_t i = first_; i < past_; ++i) most = std::fmax(most, all_[i].weight);
      return most;
    }

    /// All at once.
    [[nodiscard]] PitchFrame all() const {
      PitchFrame weights{};
      for (std::size_t i = first_; i < past_; ++i) weights[all_[i].pitch] = all_[i].weight;
      return weights;
    }

   private:
    friend class WeightFrames;
    struct Sounding {
      std::uint32_t pitch;
      float weight;
    };
    Frame(const std::deque<Sounding>& all, std::size_t first, std::size_t past)
        : all_(all), first_(first), past_(past) {}
    const std::deque<Sounding>& all_;
    std::size_t first_, past_;
  };
  [[nodiscard]] Frame operator[](std::size_t n) const {
    return {sounding_, n > 0 ? past_[n - 1] : 0, past_[n]};
  }

 private:
  std::deque<Frame::Sounding> sounding_;
  std::deque<std::uint32_t> past_;  // of each frame, among those that sound
};

/// Decibels in steps of 1/128, from -255 to 255: 142 bytes a frame.
class LevelFrames {
 public:
  /// Room for so many frames at once: growing would need three times as much for a moment.
  void reserve(std::size_t frames) { levels_.reserve(frames * kPitches); }
  void add(const PitchFrame& levels_db) {
    for (const float level : levels_db)
      levels_.push_back(
          static_cast<std::int16_t>(std::lround(std::fmax(-255.0F, std::fmin(255.0F, level)) * kSteps)));
  }
  [[nodiscard]] std::size_t size() const { return levels_.size() / kPitches; }

  class Frame {
   public:
    explicit Frame(const std::vector<std::int16_t>& levels, std::size_t first)
        : levels_(levels), first_(first) {}
    [[nodiscard]] float operator[](std::size_t pitch) const {
      return static_cast<float>(levels_[first_ + pitch]) / kSteps;
    }

   private:
    const std::vector<std::int16_t>& levels_;
    std::size_t first_;
  };
  [[nodiscard]] Frame operator[](std::size_t n) const { return Frame(levels_, n * kPitches); }

 private:
  static constexpr float kSteps = 128;
  std::vector<std::int16_t> levels_;
};

}  // namespace burstloom
