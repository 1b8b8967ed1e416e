// Properties of the thermal step, and the corners of its numbers.
#include "burstloom/coil/thermal.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "thermal_by_hand.hpp"

namespace burstloom {
namespace {

using testing::between;

double log_between(double low, double high) {
  return low * std::pow(high / low, between(0, 1));
}

ThermalParts random_parts(double factor) {
  ThermalParts parts;
  const int pairs = *rc::gen::inRange(1, 17);
  for (int i = 0; i < pairs; ++i) parts.foster.push_back({log_between(.01, 1), log_between(1e-5, 10)});
  parts.ambient_c = between(-20, 50);
  parts.start_c = parts.ambient_c + between(0, 30);
  parts.rds_on_factor_at_150c = factor;
  SinkParts sink;
  sink.case_heat_capacity_j_per_k = log_between(.05, 10);
  sink.case_to_sink_k_per_w = *rc::gen::element(0.0, log_between(.05, 5));
  sink.sink_to_ambient_k_per_w = log_between(.1, 20);
  sink.sink_heat_capacity_j_per_k = log_between(1, 500);
  sink.on_one_sink = *rc::gen::inRange(1, 9);
  parts.sink = sink;
  // Where the case is the sink it has no start of its own.
  if (sink.case_to_sink_k_per_w > 0 && *rc::gen::arbitrary<bool>())
    parts.case_start_c = parts.start_c + between(0, 30);
  return parts;
}

PulsePower random_power(double most) {
  PulsePower power{between(0, most), between(0, most), 0, 0};
  power.mean_fixed_w = power.fixed_w * between(.5, 1);
  power.mean_resistive_w = power.resistive_w * between(.5, 1);
  return power;
}

struct Pulse {
  Tick off, on;
  PulsePower power;
};

std::vector<Pulse> random_train(double most_w) {
  std::vector<Pulse> train(static_cast<std::size_t>(*rc::gen::inRange(1, 40)));
  for (Pulse& pulse : train) {
    pulse.off = *rc::gen::inRange<Tick>(0, *rc::gen::element<Tick>(300, 70'000, 40'000'000));
    pulse.on = *rc::gen::inRange<Tick>(1, *rc::gen::element<Tick>(300, 70'000, 3'000'000));
    pulse.power = random_power(most_w);
  }
  return train;
}

constexpr double kTick = 5e-7;

// With a resistance that does not change the network is linear: after any train it is where a plain
// integration of case, sink and pairs, which knows nothing of modes, says.
RC_GTEST_PROP(Step, IsThePlainSolutionOfTheNetwork, ()) {
  const ThermalParts parts = random_parts(1);
  const ThermalNetwork network(parts, kTick);
  Thermal thermal(network);
  testing::ByHand by_hand(parts);
  for (const Pulse& pulse : random_train(50)) {
    thermal.gap(pulse.off);
    by_hand.step(static_cast<double>(pulse.off) * kTick, 0, 0);
    thermal.burst(pulse.on, pulse.power);
    by_hand.step(static_cast<double>(pulse.on) * kTick, pulse.power.fixed_w + pulse.power.resistive_w,
                 pulse.power.mean_fixed_w + pulse.power.mean_resistive_w);
    const double near = 1e-9 * (1 + std::abs(by_hand.junction_c()));
    RC_ASSERT(std::abs(thermal.junction_c() - by_hand.junction_c()) < near);
    RC_ASSERT(std::abs(thermal.sink_c() - by_hand.sink_c()) < near);
  }
}

// Superposition: the rise of many pulses is the sum of each one's step up and step down of Zth.
// The junction's rise (K) after 1 W in every switch for so long.
double step_response(const ThermalNetwork& network, Tick on) {
  return on > 0 ? Thermal(network).burst(on, {1, 0, 1, 0}) - network.ambient_c() : 0;
}

RC_GTEST_PROP(Step, SuperposesPulses, ()) {
  ThermalParts parts = random_parts(1);
  parts.start_c = parts.ambient_c;
  parts.case_start_c.reset();
  const ThermalNetwork network(parts, kTick);
  Thermal thermal(network);
  const auto train = random_train(50);
  Tick end = 0;
  for (const Pulse& pulse : train) {
    thermal.gap_and_burst(pulse.off, pulse.on, {pulse.power.fixed_w, 0, pulse.power.fixed_w, 0});
    end += pulse.off + pulse.on;
  }
  double rise = 0;
  Tick now = 0;
  for (const Pulse& pulse : train) {
    const Tick up = end - now - pulse.off;
    now += pulse.off + pulse.on;
    rise += pulse.power.fixed_w * (step_response(network, up) - step_response(network, end - now));
  }
  RC_ASSERT(std::abs(thermal.junction_c() - parts.ambient_c - rise) < 1e-9 * (1 + rise));
}

RC_GTEST_PROP(Step, DoesNotDependOnHowItIsCut, ()) {
  const ThermalNetwork network(random_parts(1), kTick);
  const PulsePower power = random_power(20);
  const Tick on = *rc::gen::inRange<Tick>(2, 50'000'000), off = *rc::gen::inRange<Tick>(2, 50'000'000);
  const Tick cut_on = *rc::gen::inRange<Tick>(1, on), cut_off = *rc::gen::inRange<Tick>(0, off);
  Thermal whole(network), cut(network);
  whole.burst(on, power);
  cut.burst(cut_on, power);
  cut.burst(on - cut_on, power);
  whole.gap(off);
  cut.gap(cut_off);
  cut.rest(static_cast<double>(off - cut_off) * kTick);
  RC_ASSERT(std::abs(whole.junction_c() - cut.junction_c()) < 1e-9 * (1 + std::abs(cut.junction_c())));
}

// More on-time, less gap or more power is never cooler, the resistance's feedback included.
RC_GTEST_PROP(Step, IsNeverCoolerForMore, ()) {
  const ThermalNetwork network(random_parts(between(1, 3)), kTick);
  Thermal less(network), more(network);
  for (const Pulse& pulse : random_train(*rc::gen::element(5.0, 100.0))) {
    PulsePower power = pulse.power;
    power.fixed_w += between(0, 2);
    // Into the gap only: what ends later has had longer to cool, too.
    const Tick longer = std::min(pulse.off, *rc::gen::inRange<Tick>(0, 100));
    const double low = less.gap_and_burst(pulse.off, pulse.on, pulse.power);
    const double high = more.gap_and_burst(pulse.off - longer, pulse.on + longer, power);
    if (less.ran_away() || more.ran_away()) break;
    RC_ASSERT(high >= low - 1e-9);
  }
}

// The resistance is on the safe side: never cooler than a fine integration that follows it, and over it by no
// more than what the resistance grows in a burst and over 2.25 K of ceiling.
RC_GTEST_PROP(Feedback, IsOnTheSafeSideAndClose, ()) {
  const double factor = between(1, 3);
  ThermalParts parts = random_parts(factor);
  parts.foster.resize(std::min<std::size_t>(parts.foster.size(), 3));
  const ThermalNetwork network(parts, kTick);
  Thermal thermal(network);
  testing::ByHand by_hand(parts);
  double largest_swing = 0;
  for (int i = 0; i < 10; ++i) {
    const Pulse pulse{*rc::gen::inRange<Tick>(0, 20'000), *rc::gen::inRange<Tick>(1, 2'000),
                      random_power(40)};
    by_hand.step(static_cast<double>(pulse.off) * kTick, 0, 0);
    thermal.gap(pulse.off);
    const double start = thermal.junction_c();
    const double peak = thermal.burst(pulse.on, pulse.power);
    const double true_peak = by_hand.burst(static_cast<double>(pulse.on) * kTick, pulse.power, factor);
    if (thermal.ran_away()) break;
    largest_swing = std::max(largest_swing, peak - start);
    RC_ASSERT(peak >= true_peak - 1e-6);
    RC_ASSERT(thermal.sink_c() >= by_hand.sink_c() - 1e-6);
    // Squared: what is too hot heats more in the next burst.
    const double over = std::pow(factor, 2 * (2.25 + largest_swing) / 125);
    RC_ASSERT(thermal.junction_c() - parts.ambient_c <=
              over * (by_hand.junction_c() - parts.ambient_c) + 1e-6);
  }
}

// A train with moderate swings, followed closely: within 2 % of the rise.
TEST(Feedback, IsCloseForASmallCoil) {
  const ThermalParts parts{{{.2, .0002}, {.6, .01}}, SinkParts{2, .5, 6, 60, 2}, 25, 25, 2};
  const ThermalNetwork network(parts, kTick);
  Thermal thermal(network);
  testing::ByHand by_hand(parts);
  const PulsePower power{20, 60, 20, 60};
  double peak = 0, true_peak = 0;
  for (int i = 0; i < 20'000; ++i) {  // 50 us of every 500: swings of 2 K over a rise of 60
    peak = thermal.gap_and_burst(900, 100, power);
    by_hand.step(450e-6, 0, 0);
    true_peak = by_hand.burst(50e-6, power, 2, 4);
  }
  EXPECT_GE(peak, true_peak);
  EXPECT_LE(peak - 25, 1.02 * (true_peak - 25));
}

TEST(Feedback, ThatRunsAwayIsFlaggedAndFinite) {
  SinkParts sink;
  sink.case_to_sink_k_per_w = .5;
  sink.sink_to_ambient_k_per_w = 6;
  sink.sink_heat_capacity_j_per_k = 60;
  const ThermalNetwork network({{{.2, .0002}, {.6, .01}}, sink, 25, 25, 2.2}, kTick);
  Thermal thermal(network);
  // alpha Rth P at 25 C is over 1 / e: this has no steady state, and takes minutes to show it.
  const PulsePower power{0, 12, 0, 12};
  double peak = 0;
  for (int i = 0; i < 4'000'000; ++i) peak = thermal.gap_and_burst(100, 900, {0, 40, 0, 40});
  EXPECT_TRUE(thermal.ran_away());
  EXPECT_TRUE(std::isfinite(peak));
  EXPECT_GT(peak, kRunawayC);
  Thermal fine(network);
  for (int i = 0; i < 1'000'000; ++i) peak = fine.gap_and_burst(100, 900, power);
  EXPECT_FALSE(fine.ran_away());
}

TEST(Feedback, OfAnAbsurdPowerStaysFinite) {
  const ThermalNetwork network({{{1e4, 1e-9}, {1e4, 1e5}}, SinkParts{1e-6, 1e4, 1e4, 1e-6, 256}, 25, 25, 10},
                               1e-3);
  for (const double watts : {1e3, 1e9, 1e15}) {
    Thermal thermal(network);
    for (int i = 0; i < 100; ++i) thermal.gap_and_burst(3, kEndOfTime / 2, {watts, watts, watts, watts});
    EXPECT_TRUE(thermal.ran_away());
    EXPECT_TRUE(std::isfinite(thermal.junction_c()));
    EXPECT_TRUE(std::isfinite(thermal.sink_c()));
    EXPECT_TRUE(std::isfinite(thermal.rest(1e6)));
  }
}

TEST(Start, IsTheSinksTemperatureAndDecaysToAmbient) {
  const ThermalNetwork network({{{.5, .01}}, SinkParts{2, .5, 6, 60, 2}, 20, 50, 1}, kTick);
  Thermal thermal(network);
  EXPECT_NEAR(thermal.junction_c(), 50, 1e-9);
  EXPECT_NEAR(thermal.sink_c(), 50, 1e-9);
  thermal.rest(1e6);
  EXPECT_NEAR(thermal.junction_c(), 20, 1e-9);
}

// The case goes on heating the sink: the sink is hottest seconds after the last burst.
TEST(Rest, FindsTheSinksHighest) {
  const ThermalNetwork network({{{.5, .01}}, SinkParts{5, 2, 6, 60, 1}, 25, 25, 1}, kTick);
  Thermal thermal(network);
  thermal.burst(20'000'000, {20, 0, 20, 0});
  Thermal fine = thermal;
  double sampled = fine.sink_c();
  for (int i = 0; i < 100'000; ++i) fine.gap(1000), sampled = std::max(sampled, fine.sink_c());
  Thermal shorter = thermal;
  EXPECT_GT(sampled, thermal.sink_c() + 1);
  EXPECT_NEAR(thermal.rest(50), sampled, 1e-6);
  EXPECT_LT(shorter.rest(.1), sampled - .5);
}

// Milliseconds are too coarse: what a burst of 100 us does to the junction is gone when its energy is spread.
TEST(Bins, OfAMillisecondHideThePeak) {
  const ThermalNetwork network({{{.3, .0002}, {.5, .01}}, std::nullopt, 25, 25, 1}, kTick);
  Thermal by_burst(network), by_bin(network);
  double peak = 0, hidden = 0;
  for (int i = 0; i < 200; ++i) {  // 100 W for 100 us, 100 times a second: 1 % duty, a bin of ten has 10 W
    peak = by_burst.gap_and_burst(19'800, 200, {100, 0, 100, 0});
    hidden = by_bin.gap_and_burst(18'000, 2'000, {10, 0, 10, 0});
  }
  EXPECT_GT(peak - 25, 3 * (hidden - 25));
  const auto exact = network.repeated_pulse(100e-6, 10e-3, 1, 1);
  EXPECT_NEAR(peak - 25, 100 * exact.peak, 1e-6);
}

TEST(Network, RefusesWhatIsNoNetwork) {
  EXPECT_THROW(ThermalNetwork({std::vector<FosterPair>(17, {1, 1}), std::nullopt, 25, 25, 1}, kTick), Error);
  EXPECT_THROW(ThermalNetwork({{{0, 1}}, std::nullopt, 25, 25, 1}, kTick), Error);
  EXPECT_THROW(ThermalNetwork({{{1, std::nan("")}}, std::nullopt, 25, 25, 1}, kTick), Error);
  EXPECT_THROW(ThermalNetwork({{{1, 1}}, std::nullopt, 25, 25, 1}, 0), Error);
  EXPECT_THROW(ThermalNetwork({{{1, 1}}, SinkParts{2, .5, 0, 60, 2}, 25, 25, 1}, kTick), Error);
  EXPECT_THROW(ThermalNetwork({{{1, 1}}, SinkParts{2, .5, 6, 60, 0}, 25, 25, 1}, kTick), Error);
}

}  // namespace
}  // namespace burstloom
