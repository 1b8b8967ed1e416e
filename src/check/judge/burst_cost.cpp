// What one burst takes from the supply, sends through the tank and leaves in the switches.
#include "burst_cost.hpp"

#include <algorithm>
#include <cmath>

#include "heat_lags.hpp"

namespace burstloom::judge_detail {
namespace {

constexpr double kDiodeDrop_v = 1.5;  // of the ring-down's path; from memory, 0.8 to 2 V in data sheets

// What one of two positions carries of a sum over half cycles that take turns: half, and for the worse one at
// most half of the largest half cycle more.
struct Share {
  double mean = 0, worst = 0;
};
Share of_turns(double whole, double largest) {
  return {whole / 2, whole / 2 + std::min(whole, largest) / 2};
}

struct Lost {
  double fixed_j = 0, resistive_j = 0;
};

// One position's parallel switches share all alike. MOSFET: Rds(on) i^2 t, 0.5 V I (rise + fall) a
// commutation and 0.5 V I fall for the burst's end; IGBT: saturation and slope, the whole switching energy
// for every on and off. The ring-down goes through diodes.
Lost lost_in_switch(const Profile& profile, const BurstFigures& f, double i2t, double charge,
                    double commutations, double ring_i2t, double ring_charge) {
  const Switch& s = profile.switches;
  const double n = s.parallel;
  if (is_igbt(profile)) {
    const double slope = *s.vce_slope_mohm / 1e3;
    return {*s.vce_sat_v * charge / n + slope * i2t / n / n +
                std::max(kDiodeDrop_v, *s.vce_sat_v) * ring_charge / n + slope * ring_i2t / n / n +
                *s.switching_uj / 1e6 * (commutations + 1),
            0};
  }
  const double volts =
      f.switch_v > 0 ? f.switch_v : *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100);
  const double at_end = profile.drive.stops_at_zero ? 0 : f.peak_current_a * *s.fall_ns;
  const double switching_j =
      volts / 2 * 1e-9 * (commutations * f.commutation_current_a * (*s.rise_ns + *s.fall_ns) + at_end);
  return {(switching_j + kDiodeDrop_v * ring_charge) / n, *s.rds_on_mohm / 1e3 * i2t / n / n};
}

void set_losses(const Profile& profile, const BurstFigures& f, BurstCost& cost) {
  const bool sine = profile.drive.primary == PrimaryKind::series_resonant;
  const double half_cycle_s = f.on_time_us * 1e-6 / std::max(1.0, f.half_cycles);
  const double largest_charge = f.peak_current_a * half_cycle_s * (sine ? 2 / M_PI : 1);
  const double largest_i2t = f.peak_current_a * f.peak_current_a * half_cycle_s * (sine ? 0.5 : 1);
  const double all_charge = f.charge_c > 0 ? f.charge_c : std::sqrt(f.i2t_a2s * f.on_time_us * 1e-6);
  const Share i2t = of_turns(f.i2t_a2s, largest_i2t), charge = of_turns(all_charge, largest_charge);
  const Share commutations = of_turns(f.half_cycles, 1);
  Share ring_i2t = of_turns(f.i2t_ring_down_a2s, largest_i2t),
        ring_charge = of_turns(f.charge_ring_down_c, largest_charge);
  if (profile.drive.ring_down == RingDown::freewheel) {  // all of it may go through one position
    ring_i2t.worst = f.i2t_ring_down_a2s;
    ring_charge.worst = f.charge_ring_down_c;
  }
  const Lost hottest = lost_in_switch(profile, f, i2t.worst, charge.worst, commutations.worst, ring_i2t.worst,
                                      ring_charge.worst);
  Lost mean =
      lost_in_switch(profile, f, i2t.mean, charge.mean, commutations.mean, ring_i2t.mean, ring_charge.mean);
  // If fewer switches than the bridge has share the sink, they may be its hot ones.
  const double in_bridge = (profile.drive.bridge == Bridge::full ? 4.0 : 2.0) * profile.switches.parallel;
  const double crowd = std::max(1.0, in_bridge / profile.switches.on_one_sink);
  mean = {std::min(hottest.fixed_j, mean.fixed_j * crowd),
          std::min(hottest.resistive_j, mean.resistive_j * crowd)};
  cost.hottest_fixed_j = hottest.fixed_j;
  cost.hottest_resistive_j = hottest.resistive_j;
  cost.mean_fixed_j = mean.fixed_j;
  cost.mean_resistive_j = mean.resistive_j;
}

std::string missing(const std::vector<std::pair<const char*, bool>>& keys) {
  std::string list;
  for (const auto& [key, given] : keys)
    if (!given) list += (list.empty() ? "missing: " : ", ") + std::string(key);
  return list;
}

}  // namespace

bool is_igbt(const Profile& profile) {
  return profile.switches.kind == SwitchKind::igbt;
}

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
                       const HeatLags* lags, std::vector<double> longer_us)
    : profile_(profile), table_(table), limits_(limits), lags_(lags), longer_us_(std::move(longer_us)) {}

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
    if (lags_ != nullptr) result.heat[i] = lags_->burst_heat(on + limits_.stretch, result.cost[i]);
  }
  return result;
}

BurstCost BurstCosts::cost(double on_us) const {
  const BurstFigures figures = table_.figures(on_us);
  BurstCost cost{.energy_j = figures.energy_j,
                 .i2t_a2s = figures.i2t_a2s + figures.i2t_ring_down_a2s,
                 .tank_v = figures.tank_capacitor_v,
                 .switch_v = figures.switch_v};
  if (lags_ != nullptr) set_losses(profile_, figures, cost);
  return cost;
}

}  // namespace burstloom::judge_detail
