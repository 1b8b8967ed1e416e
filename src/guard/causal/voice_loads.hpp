// What the voices that sound ask of the coil now, as far as limits that count bursts leave room for it.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "gate_limits.hpp"

namespace burstloom::guard_detail {

inline constexpr std::size_t kMostVoices = 17;
/// The part of an allowance that music is turned down to: the rest is for what comes unforeseen.
inline constexpr double kHeadroom = 0.97;

/// One voice's bursts at the gate.
struct VoiceLoad {
  double period = 1, on = 0;  ///< ticks
  double kept = 1;            ///< the part of its bursts that is not decimated away
  std::uint32_t weight = 1;
  std::uint16_t voice = 0;
};

class VoiceLoads {
 public:
  explicit VoiceLoads(const GateLimits& limits) : limits_(limits), counts_(count_limits(limits)) {}

  /// Of `requests`, at most kMostVoices, no burst being longer than `longest_on` ticks at the gate.
  void update(std::span<const VoiceRequest> requests, Tick longest_on);
  /// The most important voice first.
  [[nodiscard]] std::span<const VoiceLoad> all() const { return {loads_.data(), count_}; }
  /// The part that the voice keeps of its bursts; all where nothing was said of it.
  [[nodiscard]] double kept_of(std::uint16_t voice) const;
  /// The tightest of the limits that count bursts.
  [[nodiscard]] Causes decimated_by() const;

 private:
  void share(const CountLimit& limit);

  const GateLimits& limits_;
  std::vector<CountLimit> counts_;
  std::array<VoiceLoad, kMostVoices> loads_{};
  std::size_t count_ = 0;
};

/// Of what is asked for, the gain that brings `full` down to `most`, if `least` is what no gain takes away.
[[nodiscard]] double gain_for(double least, double full, double most);

}  // namespace burstloom::guard_detail
