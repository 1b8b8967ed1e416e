// What a burst loses in the switches, and which keys that takes.
#include <algorithm>
#include <cmath>

#include "burstloom/coil/heat.hpp"

namespace burstloom {
namespace {

bool is_igbt(const Profile& profile) {
  return profile.switches.kind == SwitchKind::igbt;
}

int positions(Bridge bridge) {
  return bridge == Bridge::full ? 4 : 2;
}

std::vector<std::string> missing_of_losses(const Profile& profile) {
  std::vector<std::string> missing;
  const auto want = [&](bool given, const char* key) {
    if (!given) missing.emplace_back(key);
  };
  const Switch& one = profile.switches;
  if (is_igbt(profile)) {
    want(one.vce_sat_v.has_value(), "switch.vce_sat_v");
    want(one.vce_slope_mohm.has_value(), "switch.vce_slope_mohm");
    want(one.switching_uj.has_value(), "switch.switching_uj");
    return missing;
  }
  want(one.rds_on_mohm.has_value(), "switch.rds_on_mohm");
  want(one.rds_on_factor_at_150c.has_value(), "switch.rds_on_factor_at_150c");
  want(one.rise_ns.has_value(), "switch.rise_ns");
  want(one.fall_ns.has_value(), "switch.fall_ns");
  want(profile.drive.bus_v.has_value(), "drive.bus_v");
  return missing;
}

std::vector<std::string> missing_of_sink(const Heatsink& sink) {
  std::vector<std::string> missing;
  if (!sink.case_to_sink_k_per_w) missing.emplace_back("heatsink.case_to_sink_k_per_w");
  if (!sink.sink_to_ambient_k_per_w) missing.emplace_back("heatsink.sink_to_ambient_k_per_w");
  if (!sink.sink_heat_capacity_j_per_k) missing.emplace_back("heatsink.sink_heat_capacity_j_per_k");
  return missing;
}

// Half of the whole, and for the worst position at most half of the largest half cycle more: what rises and
// then falls, summed with changing signs, is never more than its largest term.
struct Shares {
  double mean = 0, worst = 0;
};
Shares every_second(double whole, double largest_half_cycle) {
  return {whole / 2, (whole + std::min(whole, largest_half_cycle)) / 2};
}

// Everything that one position of the bridge carries, the mean of all positions and the worst.
struct Carried {
  Shares i2t, charge, commutations, i2t_ring_down, charge_ring_down;
};

Carried carried_by_a_position(const Profile& profile, const BurstFigures& f) {
  // A sine's half cycle of length T and amplitude I: I T 2/pi of charge, I^2 T / 2; other primaries: a
  // rectangle's.
  const bool sine = profile.drive.primary == PrimaryKind::series_resonant;
  const double half_cycle_s = f.on_time_us * 1e-6 / std::max(1.0, f.half_cycles);
  const double most_charge = f.peak_current_a * half_cycle_s * (sine ? 2 / M_PI : 1);
  const double most_i2t = f.peak_current_a * f.peak_current_a * half_cycle_s * (sine ? 0.5 : 1);
  const double charge = f.charge_c > 0 ? f.charge_c : std::sqrt(f.i2t_a2s * f.on_time_us * 1e-6);
  Carried carried{every_second(f.i2t_a2s, most_i2t), every_second(charge, most_charge),
                  every_second(f.half_cycles, 1), every_second(f.i2t_ring_down_a2s, most_i2t),
                  every_second(f.charge_ring_down_c, most_charge)};
  if (profile.drive.ring_down == RingDown::freewheel) {  // through the same switches until it ends
    carried.i2t_ring_down.worst = f.i2t_ring_down_a2s;
    carried.charge_ring_down.worst = f.charge_ring_down_c;
  }
  return carried;
}

struct Pick {
  const Carried& carried;
  double Shares::*which;
  [[nodiscard]] double operator()(Shares Carried::*what) const { return carried.*what.*which; }
};

SwitchLoss mosfet_loss(const Profile& profile, const BurstFigures& f, const Pick& of) {
  const Switch& one = profile.switches;
  const double highest_bus = *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100);
  const double half_v = 0.5 * (f.switch_v > 0 ? f.switch_v : highest_bus);
  const double at_end_a = profile.drive.stops_at_zero ? 0 : f.peak_current_a;
  const double switching_j =
      half_v * 1e-9 *
      (of(&Carried::commutations) * f.commutation_current_a * (*one.rise_ns + *one.fall_ns) +
       at_end_a * *one.fall_ns);
  const double n = one.parallel;
  return {(switching_j + kDiodeDropV * of(&Carried::charge_ring_down)) / n,
          *one.rds_on_mohm * 1e-3 * of(&Carried::i2t) / (n * n)};
}

SwitchLoss igbt_loss(const Profile& profile, const BurstFigures&, const Pick& of) {
  const Switch& one = profile.switches;
  const double slope_ohm = *one.vce_slope_mohm * 1e-3, n = one.parallel;
  const double driven_j = *one.vce_sat_v * of(&Carried::charge) / n + slope_ohm * of(&Carried::i2t) / (n * n);
  const double ring_down_j = std::max(kDiodeDropV, *one.vce_sat_v) * of(&Carried::charge_ring_down) / n +
                             slope_ohm * of(&Carried::i2t_ring_down) / (n * n);
  // Each commutation is an off of one switch and an on of the other; the burst's own on and off make one more
  // pair.
  const double switching_j = *one.switching_uj * 1e-6 * (of(&Carried::commutations) + 1);
  return {driven_j + ring_down_j + switching_j, 0};
}

}  // namespace

int switches_in_bridge(const Profile& profile) {
  return positions(profile.drive.bridge) * profile.switches.parallel;
}

MissingForHeat missing_for_heat(const Profile& profile) {
  MissingForHeat missing;
  missing.heatsink = missing_of_losses(profile);
  for (std::string& key : missing_of_sink(profile.heatsink)) missing.heatsink.push_back(std::move(key));
  missing.junction = missing.heatsink;
  if (profile.switches.foster.empty()) missing.junction.emplace_back("switch.foster");
  return missing;
}

std::vector<std::string> heat_remarks(const Profile& profile) {
  std::vector<std::string> remarks;
  const bool limited = profile.limits.junction_c || profile.limits.heatsink_c;
  if (!limited || !missing_for_heat(profile).heatsink.empty()) return remarks;
  if (!profile.heatsink.case_heat_capacity_j_per_k)
    remarks.emplace_back(
        "heat: the case is assumed to hold 0.3 J/K, less than a TO-220 does; "
        "heatsink.case_heat_capacity_j_per_k says better");
  remarks.emplace_back("heat: the ring-down is assumed to lose 1.5 V in the diodes");
  if (is_igbt(profile))
    remarks.emplace_back("heat: switch.switching_uj is counted in full for every on and off, at any current");
  if (profile.switches.foster.empty())
    remarks.emplace_back("heat: without switch.foster the resistance is taken as at 150 °C");
  return remarks;
}

BurstLoss burst_loss(const Profile& profile, const BurstFigures& figures) {
  const Carried carried = carried_by_a_position(profile, figures);
  const auto loss = is_igbt(profile) ? igbt_loss : mosfet_loss;
  BurstLoss result{loss(profile, figures, Pick{carried, &Shares::worst}),
                   loss(profile, figures, Pick{carried, &Shares::mean})};
  // Of fewer switches than the bridge has, all may be worst ones, but they never lose more than the whole
  // bridge.
  const double whole = switches_in_bridge(profile), here = profile.switches.on_one_sink;
  const double most = std::max(1.0, whole / here);
  result.mean_on_sink.fixed_j = std::min(result.hottest.fixed_j, result.mean_on_sink.fixed_j * most);
  result.mean_on_sink.resistive_j =
      std::min(result.hottest.resistive_j, result.mean_on_sink.resistive_j * most);
  return result;
}

ThermalParts thermal_parts(const Profile& profile) {
  const Heatsink& given = profile.heatsink;
  ThermalParts parts;
  parts.foster = profile.switches.foster;
  parts.ambient_c = given.ambient_c;
  parts.start_c = given.start_c.value_or(given.ambient_c);
  parts.case_start_c = given.case_start_c;
  if (!parts.foster.empty() && !is_igbt(profile))
    parts.rds_on_factor_at_150c = profile.switches.rds_on_factor_at_150c.value_or(1);
  SinkParts& sink = parts.sink.emplace();
  sink.case_heat_capacity_j_per_k = given.case_heat_capacity_j_per_k.value_or(kAssumedCaseHeatCapacity);
  sink.case_to_sink_k_per_w = given.case_to_sink_k_per_w.value_or(0);
  sink.sink_to_ambient_k_per_w = given.sink_to_ambient_k_per_w.value_or(0);
  sink.sink_heat_capacity_j_per_k = given.sink_heat_capacity_j_per_k.value_or(0);
  sink.on_one_sink = profile.switches.on_one_sink;
  return parts;
}

}  // namespace burstloom
