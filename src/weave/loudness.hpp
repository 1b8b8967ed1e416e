// From power to on-time: what the formula in weave.hpp needs of the coil.
#pragma once

#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom::weave_detail {

/// Below this break rate a burst's energy no longer grows with a lower rate.
inline constexpr double kReferenceHz = 220.0;

/// The power that a note of `level` (0 to 1) asks for at `hz`, as a part of the most that one voice may have.
[[nodiscard]] double power_of(double level, double hz);

/// The on-times that a coil can be told, by the energy of their bursts. Built once a song.
class Loudness {
 public:
  Loudness(const Profile& profile, std::int64_t tick_hz);

  /// Ticks of the burst with `power` at `hz`: 0 to 1 of the longest burst's energy at kReferenceHz. Never
  /// falls with the power; between the shortest and the longest on-time, and at most half a period (but never
  /// under the shortest).
  [[nodiscard]] Tick on_time(double power, double hz) const;
  /// Whether `power` at `hz` is less than the shortest burst gives.
  [[nodiscard]] bool is_under_shortest(double power, double hz) const {
    return energy_of(power, hz) < energies_.front();
  }

 private:
  [[nodiscard]] static double energy_of(double power, double hz);

  double ticks_per_s_;
  double first_ = 0, step_ = 0;   // ticks: on-times of the energies
  std::vector<double> energies_;  // parts of the longest burst's, rising
  Tick shortest_ = 1;
};

}  // namespace burstloom::weave_detail
