#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom {

std::optional<double> peak_current_a(const Profile& profile, double on_time_us) {
  return current_table(profile)->peak_current_a(on_time_us);
}

std::optional<double> longest_on_time_for_current_us(const Profile& profile) {
  const auto table = current_table(profile);
  if (!table->knows_peak() || !profile.limits.peak_current_a) return std::nullopt;
  return table->longest_on_time_us(*profile.limits.peak_current_a);
}

}  // namespace burstloom
