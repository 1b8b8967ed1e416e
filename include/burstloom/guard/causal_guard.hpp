// The guard burst by burst, for music that is being played: what was made is known, what is to come is not.
//
// Every limit holds exactly, as in `place`. Where one comes near, the music is turned down before it is
// reached, by what the voices that sound ask for now, so that nothing has to be chopped:
//   short duty windows (up to 100 ms): on-times shrink until the most bursts of all voices that
//     any window can hold fit into its allowance;
//   longer ones, supply and tank current: what is asked for is let through a leaky bucket of a
//     fifth of the allowance that fills at four fifths of the allowed rate; what begins loud gets
//     softer smoothly, and what is held stays as it is;
//   heatsink: losses shrink over the last tenth of the allowed rise;
//   break rate, and duty with all bursts at their shortest: the least important voices are decimated evenly.
#pragma once

#include <array>
#include <memory>
#include <span>

#include "burstloom/coil/profile.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/stream/wanted.hpp"

namespace burstloom {

/// What became of a wanted burst.
struct PlacementResult {
  Tick start = 0, on = 0;  ///< both 0 when dropped
  Fate fate = Fate::kept;
  Causes causes = 0;
};

/// How much of each limit is used up by what was made, as parts of what is allowed; below 0 where nothing is
/// limited or nothing is known.
struct LimitUsage {
  std::array<double, kMostDutyWindows> duty{};  ///< by window, in the profile's order
  double break_rate = -1, supply = -1, tank_current = -1;
  double junction_c = 0, sink_c = 0;  ///< predicted
  bool knows_heat = false;
  double gain = 1;  ///< what on-times were turned down by last: 1 not at all, 0 to the shortest
};

/// Allocates nothing and throws nothing after construction; bounded work per burst.
class CausalGuard {
 public:
  /// Starts at the profile's start temperature, with nothing before. Throws Error (usage) for a tick rate out
  /// of range, for limits that causal placing cannot keep in sight, and for duty windows of which more than
  /// four million bursts would have to be remembered.
  CausalGuard(const Profile& profile, std::int64_t tick_hz);
  CausalGuard(CausalGuard&&) noexcept;
  CausalGuard& operator=(CausalGuard&&) noexcept;
  ~CausalGuard();

  /// Settles the burst that is due next. Bursts come in order of their wanted start. `requests` is what all
  /// voices want next, `wanted` among them, in order of voice; at most 17.
  PlacementResult settle(const WantedBurst& wanted, std::span<const VoiceRequest> requests) noexcept;
  /// No burst is longer from now on, whatever the coil allows.
  void set_longest_on(Tick on) noexcept;
  [[nodiscard]] Tick longest_on() const noexcept;

  [[nodiscard]] LimitUsage usage(Tick now) const noexcept;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace burstloom
