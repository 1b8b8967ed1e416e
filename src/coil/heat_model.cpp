// From a burst's figures to the power that the thermal network is stepped with.
#include <cmath>
#include <initializer_list>

#include "burstloom/coil/heat.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

const Profile& with_all_keys(const Profile& profile) {
  const MissingForHeat missing = missing_for_heat(profile);
  if (missing.heatsink.empty()) return profile;
  std::string keys;
  for (const std::string& key : missing.heatsink) keys += (keys.empty() ? "" : ", ") + key;
  throw bad_input("the profile does not give " + keys + ", so heat cannot be computed",
                  printable(profile.name), "give them from the data sheets");
}

double shortest_tick_s(const Profile& profile, std::int64_t tick_hz, bool clock_may_run_fast) {
  const double fast = clock_may_run_fast ? 1 - profile.drive.clock_tolerance_percent / 100 : 1;
  return fast / static_cast<double>(tick_hz);
}

void require_sound(const BurstFigures& f) {
  for (const double value : {f.on_time_us, f.peak_current_a, f.i2t_a2s, f.charge_c, f.i2t_ring_down_a2s,
                             f.charge_ring_down_c, f.half_cycles, f.commutation_current_a, f.switch_v})
    if (!(value >= 0 && value < 1e15))
      throw bad_input("a burst's figures hold the value " + std::to_string(value), "",
                      "check the profile's inductances, capacitances and bus");
}

}  // namespace

HeatModel::HeatModel(const Profile& profile, std::int64_t tick_hz, bool clock_may_run_fast)
    : profile_(with_all_keys(profile)),
      network_(thermal_parts(profile), shortest_tick_s(profile, tick_hz, clock_may_run_fast)),
      judges_junction_(!profile.switches.foster.empty()) {}

PulsePower HeatModel::power(Tick on, const BurstFigures& figures) const {
  require_sound(figures);
  if (on < 1)
    throw bad_input("a burst is " + std::to_string(on) + " ticks long", "", "give at least one tick");
  const BurstLoss loss = burst_loss(profile_, figures);
  const double per_s = 1 / (static_cast<double>(on) * network_.seconds_per_tick());
  // Where the junction is not followed, the resistance is that at 150 C.
  const double hot = judges_junction_ ? 1 : profile_.switches.rds_on_factor_at_150c.value_or(1);
  return {loss.hottest.fixed_j * per_s, loss.hottest.resistive_j * hot * per_s,
          loss.mean_on_sink.fixed_j * per_s, loss.mean_on_sink.resistive_j * hot * per_s};
}

}  // namespace burstloom
