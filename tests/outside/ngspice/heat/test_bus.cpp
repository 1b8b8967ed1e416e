// The bus's droop against ngspice: a capacitor, a supply of limited current, bursts as a load that is
// switched in.
#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/coil/supply.hpp"
#include "spice.hpp"

namespace burstloom {
namespace {

using spice::Deck;

void compare_droop(const std::string& title, double volts, double capacitance_f, double amps, double on_s,
                   double period_s, double energy_j) {
  std::vector<std::pair<double, double>> times;
  for (int i = 0; i < 40; ++i)
    times.emplace_back((i + 1) * period_s, (i + 1) * period_s + on_s * (i % 4 == 3 ? 2 : 1));
  Deck deck(title);
  deck.line("VG g 0 " + Deck::pulses(times, 1, 1e-8)).line("RG g 0 1");
  deck.line("Cbus b 0 " + Deck::number(capacitance_f) + " IC=" + Deck::number(volts));
  // A resistance that takes energy_j in on_s at full volts, and a stiff regulator that stops at its
  // limit.
  deck.line("BL b 0 I = V(g) * V(b) / " + Deck::number(volts * volts * on_s / energy_j));
  deck.line("BS 0 b I = max(0, min(" + Deck::number(amps) + ", 20000 * (" + Deck::number(volts) +
            " - V(b))))");
  std::vector<Deck::Probe> probes;
  for (const auto& [from, until] : times) probes.push_back({"b", until});
  const auto simulated = deck.run(probes, times.back().second + 1e-5, on_s / 50);
  ASSERT_EQ(simulated.size(), probes.size());
  Bus bus(volts, capacitance_f, amps);
  double now = 0, lowest = volts;
  for (std::size_t i = 0; i < times.size(); ++i) {
    bus.gap(times[i].first - now);
    const double seconds = times[i].second - times[i].first;
    bus.burst(seconds, energy_j * seconds / on_s);
    now = times[i].second;
    EXPECT_NEAR((volts - bus.volts()) / (volts - simulated[i]), 1, 5e-3) << title << " burst " << i;
    lowest = std::min(lowest, bus.volts());
  }
  EXPECT_LT(lowest, volts * .97);
}

TEST(Droop, IsWithinHalfAPercent) {
  compare_droop("small_bus_recovers", 36, 470e-6, 2.5, 100e-6, 2e-3, .02);
  compare_droop("small_bus_is_outrun", 36, 470e-6, 1.0, 100e-6, 1e-3, .06);
  compare_droop("high_bus", 560, 1000e-6, 4, 150e-6, 5e-3, 8.0);
}

// Past a tenth of droop V - E / (C V) is wrong and this is not.
TEST(Droop, HoldsWhenItIsDeep) {
  compare_droop("deep", 325, 200e-6, .5, 500e-6, 20e-3, 6.0);
}

}  // namespace
}  // namespace burstloom
