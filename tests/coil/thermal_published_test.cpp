// The thermal network against closed forms and published figures.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "burstloom/coil/heat.hpp"

namespace burstloom {
namespace {

// IRLB8721 (TO-220): Foster pairs printed in Fig. 11 of its data sheet; their sum is its RthJC, 2.3 K/W.
const std::vector<FosterPair> kPublished = {
    {.003454, 13.68748}, {.17246, 7.21e-5}, {.786312, .001227}, {1.368218, .007178}};

ThermalNetwork published(double seconds_per_tick = 1e-6) {
  return ThermalNetwork({kPublished, std::nullopt, 0, 0, 1}, seconds_per_tick);
}

// The closed form of its step response, sum Ri (1 - exp(-t / taui)).
double impedance(double t_s) {
  double z = 0;
  for (const FosterPair& pair : kPublished) z -= pair.r_k_per_w * std::expm1(-t_s / pair.tau_s);
  return z;
}

double rise_after(const ThermalNetwork& network, Tick on) {
  Thermal thermal(network);
  return thermal.burst(on, {1, 0, 1, 0});
}

// Z(t) = sum Ri (1 - exp(-t / taui)), evaluated for that network (own evaluation, six decimals).
TEST(PublishedNetwork, HasItsImpedance) {
  const ThermalNetwork network = published();
  for (const auto& [on, z] : {std::pair<Tick, double>{1, .003207},
                              {10, .030622},
                              {100, .209845},
                              {1'000, .788649},
                              {10'000, 1.987047},
                              {100'000, 2.327014}}) {
    EXPECT_NEAR(rise_after(network, on), z, 5.1e-7) << on << " us";
    EXPECT_NEAR(impedance(static_cast<double>(on) * 1e-6), z, 5.1e-7) << on << " us";
  }
}

// Peak = sum Ri (1 - exp(-t / taui)) / (1 - exp(-T / taui)), valley = those terms times exp(-(T - t) / taui):
// the geometric series of superposed steps, of which onsemi AND8219/D's abstract says that it has a closed
// form.
struct PulseRow {
  Tick on;
  double duty, peak, valley, one_term, two_terms;
};
const PulseRow kPulses[] = {{50, .02, .154725, .027926, .171220, .159171},
                            {100, .05, .283925, .076180, .315875, .294561},
                            {100, .10, .385694, .181776, .421905, .403363},
                            {1000, .10, .847892, .068188, .942828, .862864},
                            {1000, .50, 1.450922, .879522, 1.559546, 1.495420}};

TEST(RepeatedPulse, HasTheExactPeakAndValleyOfTheTable) {
  for (const PulseRow& row : kPulses) {
    const double on_s = static_cast<double>(row.on) * 1e-6;
    const auto rise = published().repeated_pulse(on_s, on_s / row.duty, 1, 1);
    EXPECT_NEAR(rise.peak, row.peak, 5.1e-7);
    EXPECT_NEAR(rise.valley, row.valley, 5.1e-7);
    EXPECT_NEAR(rise.mean, row.duty * 2.330444, 1e-9);
  }
}

// The usual approximations (from memory) are on the safe side, as AND8219/D's abstract says: D R + (1 - D)
// Z(t), and D R + (1 - D) Z(t + T) + Z(t) - Z(T).
TEST(RepeatedPulse, IsUnderTheUsualApproximations) {
  const ThermalNetwork network = published();
  for (const PulseRow& row : kPulses) {
    const double t = static_cast<double>(row.on) * 1e-6, period = t / row.duty, d = row.duty;
    const double one = d * 2.330444 + (1 - d) * impedance(t);
    const double two = d * 2.330444 + (1 - d) * impedance(t + period) + impedance(t) - impedance(period);
    EXPECT_NEAR(one, row.one_term, 5.1e-7);
    EXPECT_NEAR(two, row.two_terms, 5.1e-7);
    EXPECT_LT(network.repeated_pulse(t, period, 1, 1).peak, two);
  }
}

TEST(RepeatedPulse, IsWhatStepsComeTo) {
  for (const PulseRow& row : kPulses) {
    // The first pair's 13.7 s would take millions of pulses: start where the series has arrived but for 1e-8.
    const ThermalNetwork network = published();
    const Tick period = static_cast<Tick>(std::llround(static_cast<double>(row.on) / row.duty));
    const auto exact =
        network.repeated_pulse(static_cast<double>(row.on) * 1e-6, static_cast<double>(period) * 1e-6, 1, 1);
    Thermal thermal(network);
    double peak = 0;
    for (Tick now = 0; now < 260'000'000; now += period) {
      peak = thermal.burst(row.on, {1, 0, 1, 0});
      thermal.gap(period - row.on);
    }
    EXPECT_NEAR(peak / exact.peak, 1, 1e-6);
    EXPECT_NEAR(thermal.junction_c() / exact.valley, 1, 1e-6);
  }
}

// R = 1, tau = 1 s, 1 s of every 2 s: peak 1 / (1 + 1/e), valley peak / e.
TEST(RepeatedPulse, OfASinglePairIsTheTextbooks) {
  const ThermalNetwork network({{{1, 1}}, std::nullopt, 0, 0, 1}, 1e-3);
  const auto rise = network.repeated_pulse(1, 2, 1, 1);
  EXPECT_NEAR(rise.peak, .731058579, 1e-9);
  EXPECT_NEAR(rise.valley, .268941421, 1e-9);
  Thermal thermal(network);
  double peak = 0;
  for (int i = 0; i < 40; ++i) thermal.gap(1000), peak = thermal.burst(1000, {1, 0, 1, 0});
  EXPECT_NEAR(peak, .731058579, 1e-9);
  thermal.gap(1000);
  EXPECT_NEAR(thermal.junction_c(), .268941421, 1e-9);
}

// What a data sheet's figure says of a network: 50 000 pulses of 1 ms at a tenth, superposed one by one, give
// .8478923. Here each pulse is a step up and a step down of Zth, summed; no recursion is shared with the
// code.
TEST(RepeatedPulse, IsTheSuperpositionOfStepResponses) {
  const ThermalNetwork network = published();
  double sum = impedance(1e-3);
  for (int i = 1; i < 50'000; ++i) sum += impedance(i * 1e-2 + 1e-3) - impedance(i * 1e-2);
  EXPECT_NEAR(sum, .8478923, 5e-7);
  EXPECT_NEAR(network.repeated_pulse(1e-3, 1e-2, 1, 1).peak, sum, 1e-6 * sum);
}

ThermalNetwork chain(double jc, double cs, double sa, double ambient, double factor = 1) {
  SinkParts sink;
  sink.case_to_sink_k_per_w = cs;
  sink.sink_to_ambient_k_per_w = sa;
  sink.sink_heat_capacity_j_per_k = 100;
  return ThermalNetwork({{{jc, .01}}, sink, ambient, ambient, factor}, 1e-3);
}

SteadyHeat continuous(const ThermalNetwork& network, double fixed_w, double resistive_w = 0) {
  return steady_heat(network, {fixed_w, resistive_w, fixed_w, resistive_w}, 1, 1);
}

TEST(Chain, AddsItsResistances) {
  // 20 W through 1.0 + 0.5 + 3.5 K/W above 40 C.
  const ThermalNetwork network = chain(1.0, 0.5, 3.5, 40);
  EXPECT_NEAR(continuous(network, 20).junction_c, 140, 140e-6);
  EXPECT_NEAR(continuous(network, 20).sink_c, 110, 110e-6);
  Thermal thermal(network);
  EXPECT_NEAR(thermal.burst(100'000'000, {20, 0, 20, 0}), 140, 1e-6);
  EXPECT_NEAR(thermal.sink_c(), 110, 1e-6);
}

// FOSSEE Scilab companion 1223, example 8.3: 20 W at a case of 25 C brings the junction to 175 C, so Rjc
// is 7.5 K/W; with Rcs 1, Rsa 5 and 25 C, 150 / 13.5 = 11.11 W does. Companion 371, example 3.4: 120 C, 45 C,
// 0.1 + 0.08 K/W: 416.67 W.
TEST(Chain, SolvesTheTextbooksExamples) {
  EXPECT_NEAR(continuous(chain(7.5, 1, 5, 25), 150 / 13.5).junction_c, 175, 175e-6);
  EXPECT_NEAR(150 / 13.5, 11.11, .005);
  EXPECT_NEAR(continuous(chain(7.5, 1e-9, 1e-9, 25), 20).junction_c, 175, 175e-5);
  EXPECT_NEAR(continuous(chain(.1, 0, .08, 45), 416.666667).junction_c, 120, 120e-6);
}

// 5 A rms in 0.27 ohm, 2.5 times at 150 C, 30 C: own evaluation of T = Ta + Rth I^2 R(T).
TEST(Feedback, ReachesTheFixedPoint) {
  const double p25 = 25 * .27;
  const SteadyHeat small = continuous(chain(1.0, .19, .5, 30, 2.5), 0, p25);
  EXPECT_FALSE(small.runs_away);
  EXPECT_NEAR(small.junction_c / 43.0182, 1, 2e-6);
  EXPECT_NEAR(small.loss_w / 7.7031, 1, 5e-6);
  const SteadyHeat large = continuous(chain(1.0, 1, 2.5, 30, 2.5), 0, p25);
  EXPECT_NEAR(large.junction_c / 73.2697, 1, 1e-6);
  EXPECT_GT(large.feedback_gain, small.feedback_gain);
}

TEST(Feedback, IsReachedByStepsAndNeverFromBelow) {
  const double p25 = 25 * .27;
  const ThermalNetwork network = chain(1.0, 1, 2.5, 30, 2.5);
  Thermal thermal(network);
  double junction = 0;
  for (int i = 0; i < 100'000; ++i) junction = thermal.burst(100, {0, p25, 0, p25});
  // Over it by what the resistance is taken too hot: up to 2.25 K of ceiling.
  EXPECT_GE(junction, 73.2697);
  EXPECT_LE(junction, 73.2697 + 2.25 * std::log(2.5) / 125 * 45);
}

}  // namespace
}  // namespace burstloom
