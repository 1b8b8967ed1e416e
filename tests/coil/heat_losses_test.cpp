// What one burst loses in one switch, by hand.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "heat_sample.hpp"
#include "thermal_by_hand.hpp"

namespace burstloom {
namespace {

using testing::even_burst;
using testing::warm_igbt_profile;
using testing::warm_profile;

TEST(Losses, OfAMosfetByHand) {
  // i^2 t is 4e-3; half of it and half of a half cycle (400 / 2 * 1e-6): 2.1e-3 in the worst position.
  const BurstLoss loss = burst_loss(warm_profile(), even_burst());
  EXPECT_NEAR(loss.hottest.resistive_j, 40e-3 * 2.1e-3, 1e-15);
  EXPECT_NEAR(loss.mean_on_sink.resistive_j, 40e-3 * 2.0e-3, 1e-15);
  // 0.5 * 36 V * (10.5 * 3 A * 50 ns + 20 A * 20 ns), the last for the burst's own end.
  EXPECT_NEAR(loss.hottest.fixed_j, 18 * (10.5 * 3 * 50e-9 + 20 * 20e-9), 1e-15);
  EXPECT_NEAR(loss.mean_on_sink.fixed_j, 18 * (10 * 3 * 50e-9 + 20 * 20e-9), 1e-15);
}

TEST(Losses, TakeTheHighestBusOrTheSwitchsOwnVolts) {
  Profile p = warm_profile();
  p.drive.stops_at_zero = true;
  p.drive.bus_tolerance_percent = 10;
  BurstFigures f = even_burst();
  EXPECT_NEAR(burst_loss(p, f).hottest.fixed_j, .5 * 39.6 * 10.5 * 3 * 50e-9, 1e-15);
  f.switch_v = 100;
  EXPECT_NEAR(burst_loss(p, f).hottest.fixed_j, .5 * 100 * 10.5 * 3 * 50e-9, 1e-15);
}

TEST(Losses, OfAnIgbtByHand) {
  const BurstFigures f = even_burst();
  const BurstLoss loss = burst_loss(warm_igbt_profile(), f);
  const double charge = (f.charge_c + 20 * 2 / M_PI * 1e-6) / 2;
  EXPECT_NEAR(loss.hottest.fixed_j, 1 * charge + 15e-3 * 2.1e-3 + 300e-6 * 11.5, 1e-12);
  EXPECT_EQ(loss.hottest.resistive_j, 0);
}

TEST(Losses, WithoutChargeAreBoundedByItsLargest) {
  BurstFigures f = even_burst();
  const double with = burst_loss(warm_igbt_profile(), f).hottest.fixed_j;
  f.charge_c = 0;
  EXPECT_GT(burst_loss(warm_igbt_profile(), f).hottest.fixed_j, with);
}

TEST(Losses, OfTheRingDownGoThroughDiodes) {
  Profile p = warm_profile();
  BurstFigures f = even_burst();
  const double without = burst_loss(p, f).hottest.fixed_j;
  f.charge_ring_down_c = 60e-6;
  const double most = 20 * 2 / M_PI * 1e-6;
  EXPECT_NEAR(burst_loss(p, f).hottest.fixed_j - without, 1.5 * (60e-6 + most) / 2, 1e-12);
  p.drive.ring_down = RingDown::freewheel;
  EXPECT_NEAR(burst_loss(p, f).hottest.fixed_j - without, 1.5 * 60e-6, 1e-12);
}

TEST(Losses, AreSharedByParallels) {
  Profile p = warm_profile();
  const BurstLoss one = burst_loss(p, even_burst());
  p.switches.parallel = 3;
  p.switches.on_one_sink = 6;
  const BurstLoss third = burst_loss(p, even_burst());
  EXPECT_NEAR(third.hottest.resistive_j, one.hottest.resistive_j / 9, 1e-15);
  EXPECT_NEAR(third.hottest.fixed_j, one.hottest.fixed_j / 3, 1e-15);
  EXPECT_EQ(switches_in_bridge(p), 6);
  p.drive.bridge = Bridge::full;
  EXPECT_EQ(switches_in_bridge(p), 12);
}

// Any train of half cycles whose amplitude rises and then falls: the worst position, summed half cycle by
// half cycle, never carries more than what is counted.
RC_GTEST_PROP(Losses, ShareIsABoundForEveryEnvelope, ()) {
  const int half_cycles = *rc::gen::inRange(1, 40), top = *rc::gen::inRange(0, 40);
  std::vector<double> amplitude;
  for (int i = 0; i < half_cycles; ++i) {
    const double before = i == 0 ? 0 : amplitude.back();
    amplitude.push_back(i <= top ? before + testing::between(0, 10) : before * testing::between(0, 1));
  }
  BurstFigures f;
  f.half_cycles = half_cycles;
  f.on_time_us = half_cycles;
  double carried[2] = {0, 0};
  for (std::size_t i = 0; i < amplitude.size(); ++i) {
    const double i2t = amplitude[i] * amplitude[i] / 2 * 1e-6;
    carried[i % 2] += i2t;
    f.i2t_a2s += i2t;
    f.peak_current_a = std::max(f.peak_current_a, amplitude[i]);
  }
  const double worst = 40e-3 * std::max(carried[0], carried[1]);
  RC_ASSERT(burst_loss(warm_profile(), f).hottest.resistive_j >= worst * (1 - 1e-12));
  RC_ASSERT(burst_loss(warm_profile(), f).hottest.resistive_j <= 40e-3 * f.i2t_a2s * (1 + 1e-12));
}

// All switches of the bridge lose what the bridge loses, however many share a sink.
RC_GTEST_PROP(Losses, OnTheSinkAreNoMoreThanTheBridges, ()) {
  Profile p = warm_profile();
  p.drive.bridge = *rc::gen::element(Bridge::half, Bridge::full, Bridge::push_pull);
  p.switches.parallel = *rc::gen::inRange(1, 5);
  p.switches.on_one_sink = switches_in_bridge(p);
  const BurstLoss all = burst_loss(p, even_burst());
  const double whole = all.mean_on_sink.resistive_j * p.switches.on_one_sink;
  const double in_series = p.drive.bridge == Bridge::full ? 2 : 1;
  RC_ASSERT(std::abs(whole - in_series * 40e-3 * 4e-3 / p.switches.parallel) < 1e-12);
  p.switches.on_one_sink = *rc::gen::inRange(1, switches_in_bridge(p) + 1);
  const BurstLoss some = burst_loss(p, even_burst());
  RC_ASSERT(some.mean_on_sink.resistive_j <= some.hottest.resistive_j);
  RC_ASSERT(some.mean_on_sink.resistive_j * p.switches.on_one_sink <= whole * (1 + 1e-12));
}

TEST(Missing, KeysAreNamed) {
  Profile p;
  p.name = "bare";
  const MissingForHeat bare = missing_for_heat(p);
  EXPECT_EQ(bare.heatsink, (std::vector<std::string>{
                               "switch.rds_on_mohm", "switch.rds_on_factor_at_150c", "switch.rise_ns",
                               "switch.fall_ns", "drive.bus_v", "heatsink.case_to_sink_k_per_w",
                               "heatsink.sink_to_ambient_k_per_w", "heatsink.sink_heat_capacity_j_per_k"}));
  EXPECT_EQ(bare.junction.back(), "switch.foster");
  p.switches.kind = SwitchKind::igbt;
  EXPECT_EQ(missing_for_heat(p).junction.front(), "switch.vce_sat_v");
  EXPECT_TRUE(missing_for_heat(warm_profile()).junction.empty());
  EXPECT_TRUE(missing_for_heat(warm_igbt_profile()).junction.empty());
  try {
    (void)HeatModel(p, 2'000'000);
    ADD_FAILURE() << "accepted";
  } catch (const Error& error) {
    EXPECT_NE(error.problem().find("switch.switching_uj"), std::string::npos);
  }
}

TEST(Missing, FosterLeavesTheHeatsinkToBeJudged) {
  Profile p = warm_profile();
  p.switches.foster.clear();
  EXPECT_EQ(missing_for_heat(p).junction, std::vector<std::string>{"switch.foster"});
  const HeatModel model(p, 2'000'000, false);
  EXPECT_FALSE(model.judges_junction());
  // As hot as 150 C: twice the loss at 25 C.
  EXPECT_NEAR(model.power(40, even_burst()).resistive_w, 2 * 40e-3 * 2.1e-3 / 20e-6, 1e-9);
}

TEST(Model, SpreadsTheLossOverTheShortestOnTime) {
  Profile p = warm_profile();
  p.drive.clock_tolerance_percent = 1;
  EXPECT_NEAR(HeatModel(p, 2'000'000, false).power(40, even_burst()).resistive_w, 4.2, 1e-12);
  EXPECT_NEAR(HeatModel(p, 2'000'000).power(40, even_burst()).resistive_w, 4.2 / .99, 1e-12);
}

TEST(Model, RefusesFiguresThatAreNone) {
  const HeatModel model(warm_profile(), 2'000'000);
  BurstFigures f = even_burst();
  f.i2t_a2s = std::nan("");
  EXPECT_THROW((void)model.power(40, f), Error);
  f.i2t_a2s = -1;
  EXPECT_THROW((void)model.power(40, f), Error);
  EXPECT_THROW((void)model.power(0, even_burst()), Error);
}

TEST(Remarks, NameWhatIsAssumed) {
  Profile p = warm_profile();
  const std::size_t few = heat_remarks(p).size();
  p.heatsink.case_heat_capacity_j_per_k.reset();
  ASSERT_EQ(heat_remarks(p).size(), few + 1);
  EXPECT_NE(heat_remarks(p)[0].find("0.3 J/K"), std::string::npos);
  EXPECT_NE(heat_remarks(p)[1].find("1.5 V"), std::string::npos);
  p.limits.junction_c.reset();
  p.limits.heatsink_c.reset();
  EXPECT_TRUE(heat_remarks(p).empty()) << "no heat is judged";
}

}  // namespace
}  // namespace burstloom
