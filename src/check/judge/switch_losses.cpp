#include "switch_losses.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::judge_detail {
namespace {

// What goes through one position of the bridge, all of its parallel switches together.
struct Carried {
  double i2t = 0, charge = 0, commutations = 0, ring_down_i2t = 0, ring_down_charge = 0;
};

// Two positions take turns, half cycle by half cycle: each carries half, and the worse one at most half of
// the largest half cycle more.
double half(double whole) {
  return whole / 2;
}
double worse_half(double whole, double largest_half_cycle) {
  return whole / 2 + std::min(whole, largest_half_cycle) / 2;
}

// Where the charge is not known, no current of this i^2 t carries more.
double charge_of(const BurstFigures& f) {
  return f.charge_c > 0 ? f.charge_c : std::sqrt(f.i2t_a2s * f.on_time_us * 1e-6);
}

Carried on_average(const BurstFigures& f) {
  return {half(f.i2t_a2s), half(charge_of(f)), half(f.half_cycles), half(f.i2t_ring_down_a2s),
          half(f.charge_ring_down_c)};
}

Carried at_worst(const Profile& profile, const BurstFigures& f) {
  // A half cycle is half a sine in a resonant primary, at most a rectangle in others.
  const bool sine = profile.drive.primary == PrimaryKind::series_resonant;
  const double half_cycle_s = f.on_time_us * 1e-6 / std::max(1.0, f.half_cycles);
  const double largest_charge = f.peak_current_a * half_cycle_s * (sine ? 2 / M_PI : 1);
  const double largest_i2t = f.peak_current_a * f.peak_current_a * half_cycle_s * (sine ? 0.5 : 1);
  Carried carried{worse_half(f.i2t_a2s, largest_i2t), worse_half(charge_of(f), largest_charge),
                  worse_half(f.half_cycles, 1), worse_half(f.i2t_ring_down_a2s, largest_i2t),
                  worse_half(f.charge_ring_down_c, largest_charge)};
  if (profile.drive.ring_down == RingDown::freewheel) {  // all of it may go through one position
    carried.ring_down_i2t = f.i2t_ring_down_a2s;
    carried.ring_down_charge = f.charge_ring_down_c;
  }
  return carried;
}

SwitchLoss lost_in_igbt(const Profile& profile, const Carried& carried) {
  const Switch& s = profile.switches;
  const double n = s.parallel, slope_ohm = *s.vce_slope_mohm / 1e3;
  const double conducting_j = *s.vce_sat_v * carried.charge / n + slope_ohm * carried.i2t / n / n;
  const double ring_down_j = std::max(kDiodeDrop_v, *s.vce_sat_v) * carried.ring_down_charge / n +
                             slope_ohm * carried.ring_down_i2t / n / n;
  const double switching_j =
      *s.switching_uj / 1e6 * (carried.commutations + 1);  // and the burst's own on and off
  return {conducting_j + ring_down_j + switching_j, 0};
}

SwitchLoss lost_in_mosfet(const Profile& profile, const BurstFigures& f, const Carried& carried) {
  const Switch& s = profile.switches;
  const double n = s.parallel, rise_s = *s.rise_ns * 1e-9, fall_s = *s.fall_ns * 1e-9;
  const double volts =
      f.switch_v > 0 ? f.switch_v : *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100);
  const double commutating_j = volts * f.commutation_current_a * (rise_s + fall_s) / 2 * carried.commutations;
  const double last_off_j = profile.drive.stops_at_zero ? 0 : volts * f.peak_current_a * fall_s / 2;
  const double ring_down_j = kDiodeDrop_v * carried.ring_down_charge;
  return {(commutating_j + last_off_j + ring_down_j) / n, *s.rds_on_mohm / 1e3 * carried.i2t / n / n};
}

SwitchLoss lost_in_switch(const Profile& profile, const BurstFigures& f, const Carried& carried) {
  return is_igbt(profile) ? lost_in_igbt(profile, carried) : lost_in_mosfet(profile, f, carried);
}

}  // namespace

bool is_igbt(const Profile& profile) {
  return profile.switches.kind == SwitchKind::igbt;
}

SwitchLosses switch_losses(const Profile& profile, const BurstFigures& figures) {
  const SwitchLoss hottest = lost_in_switch(profile, figures, at_worst(profile, figures));
  const SwitchLoss mean = lost_in_switch(profile, figures, on_average(figures));
  // If fewer switches than the bridge has share the sink, they may be its hot ones.
  const double in_bridge = (profile.drive.bridge == Bridge::full ? 4.0 : 2.0) * profile.switches.parallel;
  const double crowd = std::max(1.0, in_bridge / profile.switches.on_one_sink);
  return {hottest,
          {std::min(hottest.fixed_j, mean.fixed_j * crowd),
           std::min(hottest.resistive_j, mean.resistive_j * crowd)}};
}

}  // namespace burstloom::judge_detail
