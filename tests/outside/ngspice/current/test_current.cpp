// The primary current against a circuit simulator: a behavioural bridge that follows the current, its edges
// delayed by a line. Parameters are invented: a small, a middling and a large coil.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/waveform.hpp"
#include "spice.hpp"

namespace burstloom::spice {
namespace {

struct Case {
  const char* name;
  double l1_uh, c1_nf, r1_ohm, delay_ns, drive_v;
  double k, l2_mh, f2_khz, q2, load_kohm;  ///< k 0: alone; load 0: no streamers
};

void PrintTo(const Case& it, std::ostream* out) {
  *out << it.name;
}

Circuit circuit_of(const Case& it) {
  Circuit circuit;
  circuit.primary_h = it.l1_uh * 1e-6;
  circuit.primary_f = it.c1_nf * 1e-9;
  circuit.primary_ohm = it.r1_ohm;
  circuit.delay_s = it.delay_ns * 1e-9;
  circuit.coupling = it.k;
  if (it.k == 0) return circuit;
  const double pace = 2 * std::numbers::pi * it.f2_khz * 1e3;
  circuit.secondary_h = it.l2_mh * 1e-3;
  circuit.secondary_f = 1 / (pace * pace * circuit.secondary_h);
  circuit.secondary_ohm = pace * circuit.secondary_h / it.q2;
  circuit.load_s = it.load_kohm > 0 ? 1 / (it.load_kohm * 1e3) : 0;
  return circuit;
}

Deck deck_of(const Case& it, const Circuit& circuit, double on_us) {
  const auto n = Deck::number;
  Deck deck("current_" + std::string(it.name) + "_" + std::to_string(static_cast<int>(on_us)));
  deck.line("B1 drive 0 V=" + n(it.drive_v) + "*(v(seen)>=0 ? 1 : -1)");
  deck.line("Vs drive p 0");
  deck.line("R1 p q " + n(circuit.primary_ohm))
      .line("L1 q r " + n(circuit.primary_h))
      .line("C1 r 0 " + n(circuit.primary_f));
  // What the driver sees: the current, a little more than nothing at the start, and later by the delay.
  deck.line("Bs sense 0 V=2*(I(Vs)+1e-9)");
  if (circuit.delay_s > 0)
    deck.line("Rs sense near 1").line("T1 near 0 seen 0 Z0=1 TD=" + n(circuit.delay_s)).line("Rt seen 0 1");
  else
    deck.line("Rs sense seen 1").line("Rt seen 0 1");
  if (circuit.coupling > 0) {
    deck.line("L2 t 0 " + n(circuit.secondary_h)).line("K1 L1 L2 " + n(circuit.coupling));
    deck.line("R2 t top " + n(circuit.secondary_ohm)).line("C2 top 0 " + n(circuit.secondary_f));
    if (circuit.load_s > 0) deck.line("Rl top 0 " + n(1 / circuit.load_s));
  }
  deck.line("Be 0 joule I=v(drive)*I(Vs)").line("Ce joule 0 1").line("Re joule 0 1e15");
  deck.line("Ba size 0 V=abs(I(Vs))")
      .line("Bq 0 square I=I(Vs)*I(Vs)")
      .line("Cq square 0 1")
      .line("Rq square 0 1e15");
  return deck;
}

class Current : public ::testing::TestWithParam<Case> {};

// Published nowhere: the simulator is the reference. Peak within 1 %, energy within 1.5 %.
TEST_P(Current, AgreesWithTheSimulator) {
  const Case& it = GetParam();
  const Circuit circuit = circuit_of(it);
  const double cycle_us = 2 * std::numbers::pi * std::sqrt(circuit.primary_h * circuit.primary_f) * 1e6;
  double worst_peak = 0, worst_energy = 0;
  for (const double on_us : {10.0, 23.0, 50.0, 120.0, 500.0}) {
    if (on_us > 600 * cycle_us) continue;
    const double on_s = on_us * 1e-6;
    const auto spice =
        deck_of(it, circuit, on_us)
            .run({{"size", -1}, {"joule", on_s}, {"square", on_s}}, on_s, cycle_us * 1e-6 / 500);
    ASSERT_EQ(spice.size(), 3u);
    const GateBurst burst{0, on_us};
    const BurstRun run = simulate(circuit, it.drive_v, {&burst, 1}, on_us).bursts[0];
    const double peak_off = run.peak_a / spice[0] - 1, energy_off = run.energy_j / spice[1] - 1;
    worst_peak = std::max(worst_peak, std::abs(peak_off));
    worst_energy = std::max(worst_energy, std::abs(energy_off));
    EXPECT_LT(std::abs(peak_off), 0.01) << on_us << " us: " << run.peak_a << " A, ngspice " << spice[0];
    EXPECT_LT(std::abs(energy_off), 0.015) << on_us << " us: " << run.energy_j << " J, ngspice " << spice[1];
    EXPECT_NEAR(run.burst_i2t_a2s / spice[2], 1, 0.015) << on_us;
  }
  std::printf("%s: peak off by up to %.2f %%, energy by up to %.2f %%\n", it.name, 100 * worst_peak,
              100 * worst_energy);
}

INSTANTIATE_TEST_SUITE_P(
    Of, Current,
    ::testing::Values(Case{"small_alone", 2.4, 7.5, 0.35, 0, 20, 0, 0, 0, 0, 0},
                      Case{"small_loaded", 2.4, 7.5, 0.35, 30, 20, 0.11, 0.52, 1150, 90, 80},
                      Case{"small_unloaded", 2.4, 7.5, 0.35, 30, 20, 0.11, 0.52, 1150, 90, 0},
                      Case{"middling_alone", 12, 90, 0.12, 250, 160, 0, 0, 0, 0, 0},
                      Case{"middling_loaded", 12, 90, 0.12, 250, 160, 0.15, 24, 148, 170, 200},
                      Case{"middling_unloaded", 12, 90, 0.12, 250, 160, 0.15, 24, 148, 170, 0},
                      Case{"large_alone", 34, 150, 0.09, 500, 540, 0, 0, 0, 0, 0},
                      Case{"large_loaded", 34, 150, 0.09, 500, 540, 0.17, 70, 66, 220, 260},
                      Case{"large_unloaded", 34, 150, 0.09, 500, 540, 0.17, 70, 66, 220, 0}),
    [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace
}  // namespace burstloom::spice
