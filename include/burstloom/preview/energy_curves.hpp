// Heat and bus through a stream, for plots: what the coil's model says, in equal stretches of time.
#pragma once

#include <cstddef>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// One value a stretch, the worst in it; stretch i begins at `i * length / size`. Empty where the profile
/// does not say enough.
struct EnergyCurves {
  std::vector<double> junction_c, heatsink_c;  ///< highest, from the profile's start temperature
  std::vector<double> bus_v;                   ///< lowest, from nominal
};

/// `points` stretches, 1 to 100 000. Empty for a stream without bursts. A profile that tells heat but not the
/// bus gives heat alone. Linear in the bursts.
[[nodiscard]] EnergyCurves energy_curves(const BurstStream& stream, const Profile& profile,
                                         std::size_t points);

/// What a burst of one on-time does, at the gate's worst on-time (stretch and clock included) and the highest
/// bus.
struct BurstEffect {
  Tick on = 0;
  double peak_a = -1;   ///< < 0: not known
  double energy_j = 0;  ///< from the bus; 0: not known
};
/// One for each on-time that occurs, in rising order. `measured` as in JudgeOptions.
[[nodiscard]] std::vector<BurstEffect> burst_effects(const BurstStream& stream, const Profile& profile,
                                                     bool measured);

}  // namespace burstloom
