// A small coil's switches, and figures of a burst in them.
#pragma once

#include "burstloom/coil/heat.hpp"

namespace burstloom::testing {

inline Profile warm_profile() {
  Profile p;
  p.name = "warm";
  p.drive.bus_v = 36;
  p.drive.bus_tolerance_percent = 0;
  p.limits.junction_c = 110;
  p.limits.heatsink_c = 70;
  p.switches.on_one_sink = 2;
  p.switches.rds_on_mohm = 40;
  p.switches.rds_on_factor_at_150c = 2;
  p.switches.rise_ns = 30;
  p.switches.fall_ns = 20;
  p.switches.foster = {{0.2, 0.0002}, {0.6, 0.01}};
  p.heatsink = {2.0, 0.5, 6.0, 60.0, 25.0, 25.0, {}};
  return p;
}

inline Profile warm_igbt_profile() {
  Profile p = warm_profile();
  p.switches.kind = SwitchKind::igbt;
  p.switches.rds_on_mohm.reset();
  p.switches.rds_on_factor_at_150c.reset();
  p.switches.vce_sat_v = 1;
  p.switches.vce_slope_mohm = 15;
  p.switches.switching_uj = 300;
  return p;
}

/// 20 half cycles of 1 us with an amplitude of 20 A throughout: sines, so 2/pi of charge and a half of i^2 t.
inline BurstFigures even_burst() {
  BurstFigures f;
  f.on_time_us = 20;
  f.peak_current_a = 20;
  f.i2t_a2s = 20 * 20 * 0.5 * 20e-6;
  f.charge_c = 20 * 2 / 3.14159265358979323846 * 20e-6;
  f.half_cycles = 20;
  f.commutation_current_a = 3;
  f.energy_j = 0.002;
  return f;
}

}  // namespace burstloom::testing
