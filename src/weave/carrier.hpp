// What the limits leave for a carrier.
#pragma once

#include <optional>

#include "burstloom/coil/profile.hpp"
#include "burstloom/weave/carry.hpp"

namespace burstloom::weave_detail {

/// How a way of carrying uses its places.
struct CarrierUse {
  double mean_density;   ///< of the places that hold a burst, in the long run
  double band_per_rate;  ///< bandwidth over rate
  double crowded;        ///< bursts more than the mean that 100 ms may hold
  const char* name;
};

/// The given rate, or the highest at which the longest on-time is at least three times the shortest. Throws
/// Error (outside_limits).
[[nodiscard]] Carrier carrier_for(const Profile& profile, const CarrierUse& use,
                                  std::optional<double> rate_hz);

}  // namespace burstloom::weave_detail
