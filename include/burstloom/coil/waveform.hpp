// Currents and voltages of a coil against time: a whole list of bursts, everything carried from one to the
// next.
#pragma once

#include <span>
#include <vector>

#include "burstloom/coil/circuit.hpp"

namespace burstloom {

/// A burst as the gate driver sees it.
struct GateBurst {
  double start_us = 0, on_us = 0;
};

/// What a probe shows at one instant. Between rows of the walk everything moves smoothly.
struct WaveformRow {
  double time_us = 0;
  double drive_v = 0;    ///< across the primary circuit; the tanks' own push where diodes block
  double primary_a = 0;  ///< i1
  double tank_v = 0;     ///< vc1
  double secondary_a = 0, top_v = 0;
  double feed_a = 0;  ///< the choke's current, current-fed only
};

/// What one burst did until the next one began (or the end).
struct BurstRun {
  double start_us = 0;
  double driven_us = 0;   ///< longer than its on-time where the driver finishes the running half cycle
  double peak_a = 0;      ///< largest |i1| in burst and ring-down
  double tank_v = 0;      ///< largest |vc1|
  double energy_j = 0;    ///< drawn from the bus in the burst
  double returned_j = 0;  ///< given back in the ring-down
  double burst_i2t_a2s = 0, ring_i2t_a2s = 0;  ///< through the switches, through diodes or the shorted bridge
  double ring_charge_c = 0;                    ///< integral of |i| in the ring-down
  double commutations = 0, commutated_a = 0;   ///< edges inside the burst, mean |i| at them
};

struct Waveform {
  std::vector<WaveformRow> rows;
  std::vector<BurstRun> bursts;
};

/// Simulates `bursts`, in rising order and apart, from rest to `until_us` at a bridge of `drive_v` volts.
/// Rows are at least `row_every_us` apart; 0 gives every step (32 or more a cycle), a negative number none.
/// Throws Error (bad_input) for bursts that overlap or run backwards, and for more than a hundred million
/// steps.
[[nodiscard]] Waveform simulate(const Circuit& circuit, double drive_v, std::span<const GateBurst> bursts,
                                double until_us, double row_every_us = -1);

}  // namespace burstloom
