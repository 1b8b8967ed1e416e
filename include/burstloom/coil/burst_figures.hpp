// What one burst does electrically, as plain numbers: what heat and supply are computed from.
#pragma once

namespace burstloom {

/// One burst at the highest bus. All figures are of the whole primary, before parallel switches share it;
/// none is negative.
struct BurstFigures {
  double on_time_us = 0;      ///< how long the gate is enabled
  double peak_current_a = 0;  ///< of the primary current
  double energy_j = 0;        ///< net from the bus: drawn less what the ring-down gives back
  double i2t_a2s = 0;         ///< integral of i squared while driven
  double charge_c = 0;  ///< integral of |i| while driven; 0: not known, then sqrt(i2t on_time) bounds it
  double i2t_ring_down_a2s = 0;      ///< integral of i squared after the burst
  double charge_ring_down_c = 0;     ///< integral of |i| after the burst, through the diodes
  double half_cycles = 0;            ///< how often the bridge commutates during the burst
  double commutation_current_a = 0;  ///< mean |i| at those commutations
  double tank_capacitor_v = 0;       ///< peak across the tank capacitor
  double switch_v = 0;               ///< peak across one switch; 0: the bus
};

}  // namespace burstloom
