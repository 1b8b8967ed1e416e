// Temperatures from burst to burst against ngspice: currents are watts, volts kelvins, farads J/K.
#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/coil/thermal.hpp"
#include "spice.hpp"

namespace burstloom {
namespace {

using spice::Deck;

constexpr double kTick = 5e-7;

struct Train {
  std::vector<Burst> bursts;
  [[nodiscard]] std::vector<std::pair<double, double>> times() const {
    std::vector<std::pair<double, double>> all;
    for (const Burst& burst : bursts)
      all.emplace_back(static_cast<double>(burst.start) * kTick, static_cast<double>(burst.end()) * kTick);
    return all;
  }
};

// A train as music makes it: two voices of different rates, on-times that swell and fade.
Train uneven(std::size_t bursts, Tick period, Tick shortest, Tick longest) {
  Train train;
  Tick now = period;
  for (std::size_t i = 0; i < bursts; ++i) {
    const double swell = .5 - .5 * std::cos(static_cast<double>(i) * .37);
    const Tick on = shortest + static_cast<Tick>(swell * static_cast<double>(longest - shortest));
    train.bursts.push_back({now, on});
    now += (i % 3 == 0 ? period / 2 : period) + on;
  }
  return train;
}

void add_pairs(Deck& deck, const std::vector<FosterPair>& pairs, const std::string& from,
               const std::string& to) {
  std::string node = from;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const std::string next = i + 1 == pairs.size() ? to : from + std::to_string(i);
    const std::string name = from + std::to_string(i);
    deck.line("R" + name + " " + node + " " + next + " " + Deck::number(pairs[i].r_k_per_w));
    deck.line("C" + name + " " + node + " " + next + " " + Deck::number(pairs[i].tau_s / pairs[i].r_k_per_w) +
              " IC=0");
    node = next;
  }
}

// The published transistor's network (IRLB8721, data sheet Fig. 11) under 60 uneven bursts: every peak.
TEST(Foster, PulseTrainIsWithinATwentiethOfAPercent) {
  const std::vector<FosterPair> pairs = {
      {.003454, 13.68748}, {.17246, 7.21e-5}, {.786312, .001227}, {1.368218, .007178}};
  const Train train = uneven(60, 2000, 20, 400);
  Deck deck("foster");
  deck.line("IP 0 j " + Deck::pulses(train.times(), 50, 1e-8));
  add_pairs(deck, pairs, "j", "0");
  std::vector<Deck::Probe> probes;
  for (const auto& [from, until] : train.times()) {
    probes.push_back({"j", until});
    if (probes.size() > 1) probes.push_back({"j", from - 1e-8});
  }
  const auto simulated = deck.run(probes, train.times().back().second + 1e-4, 5e-7);
  ASSERT_EQ(simulated.size(), probes.size());
  const ThermalNetwork network({pairs, std::nullopt, 0, 0, 1}, kTick);
  Thermal thermal(network);
  Tick now = 0;
  std::size_t i = 0;
  for (const Burst& burst : train.bursts) {
    thermal.gap(burst.start - now);
    const double before = thermal.junction_c();
    const double peak = thermal.burst(burst.on, {50, 0, 50, 0});
    EXPECT_NEAR(peak / simulated[i], 1, 5e-4) << "burst at " << burst.start;
    ++i;
    if (i > 1) {
      EXPECT_NEAR(before / simulated[i], 1, 5e-4) << "before the burst at " << burst.start;
      ++i;
    }
    now = burst.end();
  }
}

// Two switches of different heat, drawn out one by one, on one sink: the library knows only the judged one
// and the mean.
TEST(CaseAndSink, AreWithinATenthOfAPercent) {
  const std::vector<FosterPair> pairs = {{.2, .002}, {.6, .03}};
  const ThermalParts parts{pairs, SinkParts{2, .5, 3, 8, 2}, 20, 20, 1};
  const Train train = uneven(150, 300'000, 20'000, 120'000);  // 10 to 60 ms, for half a minute
  Deck deck("case_and_sink");
  deck.line("IA 0 ja " + Deck::pulses(train.times(), 40, 1e-7));
  deck.line("IB 0 jb " + Deck::pulses(train.times(), 22, 1e-7));
  for (const std::string one : {"a", "b"}) {
    add_pairs(deck, pairs, "j" + one, "c" + one);
    deck.line("Ccase" + one + " c" + one + " 0 2 IC=0").line("Rcs" + one + " c" + one + " s .5");
  }
  deck.line("Csink s 0 8 IC=0").line("Rsa s 0 3");
  std::vector<Deck::Probe> probes;
  const auto times = train.times();
  for (std::size_t i = 9; i < times.size(); i += 10)
    for (const char* node : {"ja", "ca", "s"}) probes.push_back({node, times[i].second});
  const double later = times.back().second + 3;
  for (const char* node : {"ja", "ca", "s"}) probes.push_back({node, later});
  const auto simulated = deck.run(probes, later + .01, 2e-4);
  ASSERT_EQ(simulated.size(), probes.size());
  const ThermalNetwork network(parts, kTick);
  // The same without Foster pairs has the case for its junction.
  const ThermalNetwork case_network({{}, parts.sink, 20, 20, 1}, kTick);
  Thermal junction(network), at_case(case_network);
  const PulsePower power{40, 0, 31, 0};
  Tick now = 0;
  std::size_t i = 0, count = 0;
  const auto compare = [&] {
    EXPECT_NEAR((junction.junction_c() - 20) / simulated[i], 1, 1e-3);
    EXPECT_NEAR((at_case.junction_c() - 20) / simulated[i + 1], 1, 1e-3);
    EXPECT_NEAR((junction.sink_c() - 20) / simulated[i + 2], 1, 1e-3);
    i += 3;
  };
  for (const Burst& burst : train.bursts) {
    junction.gap_and_burst(burst.start - now, burst.on, power);
    at_case.gap_and_burst(burst.start - now, burst.on, power);
    now = burst.end();
    if (++count % 10 == 0) compare();
  }
  junction.rest(3);
  at_case.rest(3);
  compare();
  EXPECT_GT(simulated.back(), 10);  // the sink has really warmed
}

// Resistance that follows the junction at every instant: never hotter than predicted, and close.
TEST(Feedback, IsOnTheSafeSideOfTheSimulation) {
  const std::vector<FosterPair> pairs = {{.2, .0002}, {.6, .01}};
  const ThermalParts parts{pairs, SinkParts{.05, .5, 3, .2, 1}, 25, 25, 2.2};
  const Train train = uneven(400, 4000, 40, 800);
  Deck deck("feedback");
  deck.line("VG g 0 " + Deck::pulses(train.times(), 1, 1e-8));
  deck.line("RG g 0 1");
  deck.line("BP 0 j I = V(g) * (10 + 30 * exp(" + Deck::number(std::log(2.2) / 125) + " * V(j)))");
  add_pairs(deck, pairs, "j", "c");
  deck.line("Ccase c 0 .05 IC=0").line("Rcs c s .5").line("Csink s 0 .2 IC=0").line("Rsa s 0 3");
  std::vector<Deck::Probe> probes;
  for (const auto& [from, until] : train.times()) probes.push_back({"j", until});
  const auto simulated = deck.run(probes, train.times().back().second + 1e-4, 5e-6);
  ASSERT_EQ(simulated.size(), probes.size());
  const ThermalNetwork network(parts, kTick);
  Thermal thermal(network);
  Tick now = 0;
  for (std::size_t i = 0; i < train.bursts.size(); ++i) {
    const Burst& burst = train.bursts[i];
    const double rise = thermal.gap_and_burst(burst.start - now, burst.on, {10, 30, 10, 30}) - 25;
    now = burst.end();
    EXPECT_GE(rise, simulated[i] * (1 - 1e-4)) << i;
    EXPECT_LE(rise, simulated[i] * 1.04) << i;
  }
  EXPECT_GT(simulated.back(), 20);
}

}  // namespace
}  // namespace burstloom
