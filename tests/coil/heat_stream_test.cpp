// Whole streams, steady trains and repeats.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "heat_sample.hpp"
#include "thermal_by_hand.hpp"

namespace burstloom {
namespace {

using testing::between;
using testing::even_burst;
using testing::warm_profile;

// Figures that grow with the on-time, `strength` times those of the even burst at 20 us.
FiguresOf figures(double strength) {
  return [strength](Tick on) {
    BurstFigures f = even_burst();
    const double length = static_cast<double>(on) / 40;
    f.on_time_us *= length;
    f.half_cycles *= length;
    f.i2t_a2s *= length * strength;
    f.peak_current_a *= std::sqrt(strength);
    return f;
  };
}

BurstStream train(Tick period, Tick on, std::size_t count) {
  BurstStream stream;
  for (std::size_t i = 0; i < count; ++i) stream.bursts.push_back({static_cast<Tick>(i) * period, on});
  stream.length = static_cast<Tick>(count) * period;
  return stream;
}

TEST(HeatOfStream, FindsTheHottestBurstAndItsPlace) {
  const HeatModel model(warm_profile(), 2'000'000, false);
  BurstStream stream = train(4000, 40, 100);
  stream.bursts[60].on = 400;
  const auto heat = heat_of_stream(model, stream, figures(4), Thermal(model.network()), 10);
  EXPECT_DOUBLE_EQ(heat.junction_at_s, stream.seconds(stream.bursts[60].end()));
  ASSERT_EQ(heat.curve.size(), 10U);
  EXPECT_DOUBLE_EQ(heat.curve[6].junction_c, heat.junction_c);
  EXPECT_DOUBLE_EQ(heat.curve[6].from_s, .12);
  EXPECT_LT(heat.curve[5].junction_c, heat.junction_c);
  // Burst by burst by hand.
  Thermal thermal(model.network());
  double hottest = 0;
  Tick now = 0;
  for (const Burst& burst : stream.bursts) {
    thermal.gap(burst.start - now);
    hottest = std::max(hottest, thermal.burst(burst.on, model.power(burst.on, figures(4)(burst.on))));
    now = burst.end();
  }
  EXPECT_NEAR(heat.junction_c, hottest, 1e-9);
}

TEST(HeatOfStream, CurveCoolsInASilence) {
  const HeatModel model(warm_profile(), 2'000'000, false);
  BurstStream stream = train(4000, 400, 500);  // a second
  const Tick pause_ends = 11 * 2'000'000;
  stream.bursts.push_back({pause_ends, 40});
  stream.length = 12 * 2'000'000;
  const auto heat = heat_of_stream(model, stream, figures(4), Thermal(model.network()), 12);
  Thermal thermal(model.network());
  Tick now = 0;
  for (const Burst& burst : stream.bursts) {
    if (burst.start == pause_ends) break;
    thermal.gap(burst.start - now);
    thermal.burst(burst.on, model.power(burst.on, figures(4)(burst.on)));
    now = burst.end();
  }
  thermal.rest(stream.seconds(2'000'000 - now));
  for (std::size_t second = 1; second < 11; ++second) {
    EXPECT_NEAR(heat.curve[second].junction_c, thermal.junction_c(), 1e-9) << second;
    EXPECT_GE(heat.curve[second].sink_c, thermal.sink_c() - 1e-9) << second;
    EXPECT_NEAR(heat.curve[second].sink_c, std::max(thermal.sink_c(), thermal.rest(1)), 1e-9) << second;
  }
  EXPECT_LT(heat.curve[10].junction_c, heat.curve[1].junction_c - 0.1);
}

TEST(HeatOfStream, OfNothingIsTheStart) {
  const HeatModel model(warm_profile(), 2'000'000);
  const auto heat = heat_of_stream(model, BurstStream{}, figures(1), Thermal(model.network()), 3);
  EXPECT_NEAR(heat.junction_c, 25, 1e-9);
  EXPECT_FALSE(heat.ran_away);
}

TEST(HeatOfStream, CountsTheSinksRiseAfterTheEnd) {
  Profile p = warm_profile();
  p.heatsink.case_heat_capacity_j_per_k = 20;
  p.heatsink.case_to_sink_k_per_w = 2;
  const HeatModel model(p, 2'000'000, false);
  const auto heat = heat_of_stream(model, train(4000, 400, 5000), figures(4), Thermal(model.network()));
  EXPECT_GT(heat.sink_c, heat.at_end.sink_c() + .1);
}

TEST(HeatOfStream, CarriesOnFromTheSongBefore) {
  const HeatModel model(warm_profile(), 2'000'000, false);
  const BurstStream song = train(4000, 400, 2000);
  BurstStream both = song;
  for (const Burst& burst : song.bursts) both.bursts.push_back({burst.start + song.length, burst.on});
  both.length = 2 * song.length;
  const Thermal cold(model.network());
  const auto first = heat_of_stream(model, song, figures(4), cold);
  const auto second = heat_of_stream(model, song, figures(4), first.at_end);
  const auto at_once = heat_of_stream(model, both, figures(4), cold);
  EXPECT_NEAR(second.junction_c, at_once.junction_c, 2e-3);
  EXPECT_NEAR(second.at_end.sink_c(), at_once.at_end.sink_c(), 2e-3);
  EXPECT_GT(second.junction_c, first.junction_c);
}

TEST(HeatOfStream, ThatRunsAwayIsFlaggedAndPlaced) {
  Profile p = warm_profile();
  p.switches.rds_on_factor_at_150c = 2.5;
  const HeatModel model(p, 2'000'000, false);
  const auto heat = heat_of_stream(model, train(1000, 900, 4'000'000), figures(4), Thermal(model.network()));
  EXPECT_TRUE(heat.ran_away);
  EXPECT_GT(heat.ran_away_at_s, 1);
  EXPECT_TRUE(std::isfinite(heat.junction_c));
}

// The steady state is where a long train arrives, from below, and as hot as its ends.
TEST(SteadyHeat, IsWhereALongTrainArrives) {
  const HeatModel model(warm_profile(), 2'000'000, false);
  const PulsePower power = model.power(400, figures(2)(400));
  const SteadyHeat steady = steady_heat(model.network(), power, 200e-6, 2000e-6);
  EXPECT_FALSE(steady.runs_away);
  const auto heat = heat_of_stream(model, train(4000, 400, 2'000'000), figures(2), Thermal(model.network()));
  EXPECT_GE(heat.junction_c, steady.junction_c - 1e-6);
  EXPECT_LE(heat.junction_c - 25, 1.03 * (steady.junction_c - 25));
  EXPECT_NEAR(heat.sink_c, steady.sink_c, .03 * (steady.sink_c - 25));
  EXPECT_GT(steady.sink_c, 35);
}

// Runaway: with the resistance growing as exp(alpha (T - 25)) a steady state exists while alpha Rth P25 <=
// 1/e above 25 C; at alpha Rth P25 >= 1 not even the straight line R25 (1 + alpha (T - 25)) has one.
TEST(SteadyHeat, RunsAwayAtTheEdge) {
  SinkParts sink;
  sink.sink_to_ambient_k_per_w = 5;
  sink.sink_heat_capacity_j_per_k = 50;
  const ThermalNetwork network({{{1, .01}}, sink, 25, 25, 2.2}, 1e-3);
  const double alpha = std::log(2.2) / 125, edge_w = std::exp(-1.0) / (alpha * 6);
  const auto at = [&](double w) { return steady_heat(network, {0, w, 0, w}, 1, 1); };
  EXPECT_FALSE(at(.999 * edge_w).runs_away);
  EXPECT_NEAR(at(.999999 * edge_w).feedback_gain, 1, 2e-3);
  // At the edge y = 1: the rise is 1 / alpha.
  EXPECT_NEAR(at(.9999999 * edge_w).junction_c - 25, 1 / alpha, 1e-3 / alpha);
  EXPECT_TRUE(at(1.001 * edge_w).runs_away);
  EXPECT_TRUE(at(1 / (alpha * 6)).runs_away);
  EXPECT_TRUE(at(1e30).runs_away);
  EXPECT_NEAR(at(.5 * edge_w).junction_c, 25 + 6 * at(.5 * edge_w).loss_w, 1e-9);
}

}  // namespace
}  // namespace burstloom
