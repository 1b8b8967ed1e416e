#include <algorithm>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom {
namespace {

struct Longest {
  double us;
  LongestBurst bound_by;
};

// The longest burst that the gate may see.
Longest longest_at_gate(const Profile& profile) {
  Longest longest{profile.limits.on_time_max_us, LongestBurst::on_time_max};
  const auto shorten = [&](double us, LongestBurst bound_by) {
    if (us < longest.us) longest = {us, bound_by};
  };
  if (const auto by_current = longest_on_time_for_current_us(profile))
    shorten(*by_current, LongestBurst::peak_current);
  const Limits& limits = profile.limits;
  if (!limits.tank_capacitor_v && !limits.switch_v) return longest;
  const auto table = current_table(profile);
  if (!table->has_model()) return longest;
  if (limits.tank_capacitor_v)
    shorten(table->longest_on_time_us(&BurstFigures::tank_capacitor_v, *limits.tank_capacitor_v),
            LongestBurst::tank_voltage);
  if (limits.switch_v)
    shorten(table->longest_on_time_us(&BurstFigures::switch_v, *limits.switch_v),
            LongestBurst::switch_voltage);
  return longest;
}

}  // namespace

const char* name_of(LongestBurst bound_by) {
  constexpr const char* names[] = {"on-time max", "peak current", "tank capacitor voltage", "switch voltage"};
  return names[static_cast<std::size_t>(bound_by)];
}

CommandLimits command_limits(const Profile& profile) {
  const double tolerance = profile.drive.clock_tolerance_percent / 100;
  const double stretch_us = profile.drive.pulse_stretch_ns / 1e3;
  const Longest longest = longest_at_gate(profile);
  CommandLimits limits;
  limits.bound_by = longest.bound_by;
  limits.on_time_max_us = std::max(0.0, (longest.us - stretch_us) / (1 + tolerance));
  limits.on_time_min_us = std::max(0.0, (profile.limits.on_time_min_us - stretch_us) / (1 - tolerance));
  limits.gap_us = (profile.limits.gap_us + stretch_us) / (1 - tolerance);
  return limits;
}

}  // namespace burstloom
