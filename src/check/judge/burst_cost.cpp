// What one burst takes from the supply, sends through the tank and leaves in the switches.
#include "burst_cost.hpp"

#include <algorithm>

#include "thermal_model.hpp"

namespace burstloom::judge_detail {
namespace {

std::string missing(const std::vector<std::pair<const char*, bool>>& keys) {
  std::string list;
  for (const auto& [key, given] : keys)
    if (!given) list += (list.empty() ? "missing: " : ", ") + std::string(key);
  return list;
}

}  // namespace

EnergyGrounds energy_grounds(const Profile& profile, const CurrentTable& table) {
  EnergyGrounds grounds;
  grounds.why_no_model = table.why_no_model();
  const Switch& s = profile.switches;
  const Heatsink& sink = profile.heatsink;
  std::vector<std::pair<const char*, bool>> keys;
  if (is_igbt(profile))
    keys = {{"switch.vce_sat_v", s.vce_sat_v.has_value()},
            {"switch.vce_slope_mohm", s.vce_slope_mohm.has_value()},
            {"switch.switching_uj", s.switching_uj.has_value()}};
  else
    keys = {{"switch.rds_on_mohm", s.rds_on_mohm.has_value()},
            {"switch.rds_on_factor_at_150c", s.rds_on_factor_at_150c.has_value()},
            {"switch.rise_ns", s.rise_ns.has_value()},
            {"switch.fall_ns", s.fall_ns.has_value()}};
  keys.insert(keys.end(),
              {{"heatsink.case_to_sink_k_per_w", sink.case_to_sink_k_per_w.has_value()},
               {"heatsink.sink_to_ambient_k_per_w", sink.sink_to_ambient_k_per_w.has_value()},
               {"heatsink.sink_heat_capacity_j_per_k", sink.sink_heat_capacity_j_per_k.has_value()}});
  grounds.why_no_sink = missing(keys);
  grounds.why_no_junction = missing({{"switch.foster", !s.foster.empty()}});
  return grounds;
}

BurstCosts::BurstCosts(const Profile& profile, const CurrentTable& table, const TickLimits& limits,
                       const ThermalModel* thermal, std::vector<double> longer_us)
    : profile_(profile),
      table_(table),
      limits_(limits),
      thermal_(thermal),
      longer_us_(std::move(longer_us)) {}

OnTimeFigures& BurstCosts::of_new(Tick on) {
  if (on < kShort) {
    const auto row = static_cast<std::size_t>(on);
    if (row >= short_.size()) short_.resize(row + 1);
    short_[row] = std::make_unique<OnTimeFigures>(figures(on));
    return *short_[row];
  }
  const auto [place, is_new] = long_.try_emplace(on);
  if (is_new) place->second = figures(on);
  return place->second;
}

void BurstCosts::forget() {
  constexpr std::size_t kMostKept = 4096;
  if (long_.size() >= kMostKept) long_.clear();
}

OnTimeFigures BurstCosts::figures(Tick on) const {
  OnTimeFigures result;
  const double on_us =
      static_cast<double>(on) / limits_.ticks_per_us * (1 + limits_.clock) + limits_.stretch_us;
  for (std::size_t i = 0; i < longer_us_.size(); ++i) {
    const double at_us = std::max(0.0, on_us + longer_us_[i]);
    result.peak_a[i] = table_.peak_current_a(at_us);
    if (table_.has_model()) result.cost[i] = cost(at_us);
    if (thermal_ != nullptr)
      result.heat[i] = thermal_->burst_heat(on + limits_.stretch, result.cost[i].losses);
  }
  return result;
}

BurstCost BurstCosts::cost(double on_us) const {
  const BurstFigures figures = table_.figures(on_us);
  BurstCost cost{.energy_j = figures.energy_j,
                 .i2t_a2s = figures.i2t_a2s + figures.i2t_ring_down_a2s,
                 .tank_v = figures.tank_capacitor_v,
                 .switch_v = figures.switch_v,
                 .losses = {}};
  if (thermal_ != nullptr) cost.losses = switch_losses(profile_, figures);
  return cost;
}

}  // namespace burstloom::judge_detail
