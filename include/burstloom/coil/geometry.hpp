// From measures to values: inductances, self-capacitance, skin depth, tank capacitors. Lengths in mm, as a
// rule reads them. Formulas name their source and their range; outside of it they throw Error (usage) rather
// than give a number.
#pragma once

#include <string>
#include <vector>

namespace burstloom {

/// A single-layer solenoid: mean diameter, winding length, turns. All above 0.
struct Solenoid {
  double diameter_mm = 0, length_mm = 0, turns = 0;
};
/// Nagaoka's coefficient of a current sheet, by diameter over length, 1e-4 to 1e4: Lorenz' exact solution in
/// complete elliptic integrals (Nagaoka 1909; Grover, "Inductance Calculations", 1946).
[[nodiscard]] double nagaoka(double diameter_over_length);
/// Exact current sheet, uH: mu0 pi r^2 N^2 K / l. A winding of round wire differs by about 1 %.
[[nodiscard]] double solenoid_uh(const Solenoid& coil);
/// H. A. Wheeler, "Simple inductance formulas for radio coils", Proc. IRE 16 (1928): r^2 N^2 / (9 r + 10 l),
/// inches. About 1 % for lengths over 0.4 diameters; refused below 0.2.
[[nodiscard]] double solenoid_by_wheeler_uh(const Solenoid& coil);

/// A flat spiral: inner and outer diameter of the winding, turns.
struct Spiral {
  double inner_mm = 0, outer_mm = 0, turns = 0;
};
enum class SpiralShape { circle, octagon, hexagon, square };
/// Current sheet of Mohan, del Mar Hershenson, Boyd and Lee, IEEE JSSC 34 (10), 1999: typically 2 to 3 %.
/// Also for printed spirals. Diameters across flats.
[[nodiscard]] double spiral_by_current_sheet_uh(const Spiral& coil, SpiralShape shape);

/// Self-capacitance (pF) of a solenoid standing on earth: Medhurst's table (Wireless Engineer, 1947; from
/// memory) times the diameter in cm; length 0.1 to 50 diameters. His coils were wound on solid polystyrene;
/// air cores have up to a third less.
[[nodiscard]] double self_capacitance_pf(const Solenoid& coil);

/// 1 / (2 pi sqrt(L C)), Hz.
[[nodiscard]] double resonance_hz(double inductance_uh, double capacitance_pf);
/// The capacitance (nF) that brings `inductance_uh` to `frequency_khz`.
[[nodiscard]] double tank_capacitance_nf(double inductance_uh, double frequency_khz);

/// Equal or unequal capacitors of the E24 series (IEC 60063), in series or parallel.
struct CapacitorChoice {
  std::vector<double> parts_nf;
  bool in_series = false;  ///< else in parallel
  double total_nf = 0, off_percent = 0;
};
/// The best few ways to make `wanted_nf` (1e-3 to 1e5) from one or two E24 values: single, two in parallel,
/// two in series; nearest first.
[[nodiscard]] std::vector<CapacitorChoice> e24_choices(double wanted_nf, std::size_t most = 5);

/// Skin depth in copper at 20 C (58 S m/mm2): sqrt(rho / (pi f mu0)), um.
[[nodiscard]] double skin_depth_um(double frequency_hz);

}  // namespace burstloom
