// What the live guard is made of, each by itself.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "causal/decimator.hpp"
#include "causal/duty_window.hpp"
#include "causal/energy_window.hpp"
#include "causal/leaky_bucket.hpp"
#include "causal/live_heat.hpp"
#include "causal/sliding_window.hpp"
#include "causal/voice_loads.hpp"

namespace burstloom::guard_detail {
namespace {

// 10 ticks of gap, bursts of 20 to 100 ticks, a tenth of duty over 10 000 ticks.
GateLimits limits() {
  GateLimits limits;
  limits.on_min = 20;
  limits.on_max = 100;
  limits.gap = 10;
  limits.duty = {{10'000, 1'000}};
  return limits;
}

VoiceRequest request(std::uint16_t voice, double period, Tick on, std::uint32_t weight = 1) {
  return {{.on = on, .weight = weight, .voice = voice}, period};
}

TEST(LeakyBucket, GivesAFifthOfTheAllowanceThenDrainsToFourFifthsOfTheRate) {
  LeakyBucket bucket(1'000, 10'000);
  EXPECT_DOUBLE_EQ(bucket.allowed_rate(), 0.08 + 200 / (10'000 / 8.0));
  Tick now = 0;
  double taken = 0;
  for (; now < 20'000; now += 10) {
    bucket.advance_to(now);
    const double amount = 10 * bucket.allowed_rate();
    bucket.take(amount);
    taken += amount;
  }
  EXPECT_NEAR(bucket.allowed_rate(), 0.08, 0.001);
  EXPECT_NEAR(taken, 200 + 0.08 * 20'000, 5);
}

TEST(LeakyBucket, AllowsNothingWhenOverdrawnAndFillsAgainToItsDepth) {
  LeakyBucket bucket(1'000, 10'000);
  bucket.take(500);
  EXPECT_EQ(bucket.allowed_rate(), 0);
  bucket.advance_to(3'750);  // 300 ticks' worth at 0.08 a tick
  EXPECT_NEAR(bucket.allowed_rate(), 0.08, 1e-9);
  bucket.advance_to(1'000);  // time does not run backwards
  EXPECT_NEAR(bucket.allowed_rate(), 0.08, 1e-9);
  bucket.advance_to(1'000'000);
  EXPECT_DOUBLE_EQ(bucket.allowed_rate(), 0.08 + 200 / (10'000 / 8.0));
}

// Whatever is taken at the allowed rate, no window holds more than the allowance.
RC_GTEST_PROP(LeakyBucket, NoWindowPassesWhatItAllows, ()) {
  LeakyBucket bucket(1'000, 1'000);
  std::vector<double> taken(4'000);
  double sum = 0;
  for (std::size_t now = 0; now < taken.size(); ++now) {
    bucket.advance_to(static_cast<Tick>(now));
    if (*rc::gen::inRange(0, 3) > 0) taken[now] = bucket.allowed_rate();
    bucket.take(taken[now]);
    sum += taken[now] - (now >= 1'000 ? taken[now - 1'000] : 0);
    RC_ASSERT(sum <= 1'000.001);
  }
}

TEST(Decimator, KeepsTwoOfThreeEvenlyAndEachVoiceForItself) {
  Decimator<2> decimator;
  std::string kept;
  for (int i = 0; i < 9; ++i) kept += decimator.keeps(0, 2 / 3.0 + 1e-9) ? 'x' : '.';
  EXPECT_EQ(kept, ".xx.xx.xx");
  EXPECT_TRUE(decimator.keeps(1, 1));
  EXPECT_FALSE(decimator.keeps(1, 0));
  EXPECT_FALSE(decimator.keeps(7, 0.5));  // counts as the last voice
  EXPECT_FALSE(decimator.keeps(0, 0.5));
  EXPECT_TRUE(decimator.keeps(1, 0.5));
}

TEST(SlidingWindow, ForgetsWhatStartedAWindowAgo) {
  SlidingWindow window(100, 4);
  window.add(0, 5);
  window.add(50, 7);
  EXPECT_EQ(window.sum(), 12);
  EXPECT_EQ(window.sum_from(99), 12);
  EXPECT_EQ(window.sum_from(100), 7);
  EXPECT_EQ(window.sum(), 12) << "looking changes nothing";
  window.look_from(100);
  EXPECT_EQ(window.sum(), 7);
  for (Tick at = 150; at < 10'000; at += 50) window.look_from(at), window.add(at, 1);
  EXPECT_EQ(window.sum(), 2);
}

TEST(OnTimeHistory, TheLongestBurstUncoversTheBurstsThatItPushesOut) {
  OnTimeHistory history(8);
  history.add(0, 60);
  history.add(500, 30);
  const DutyBudget budget{1'000, 100};
  EXPECT_EQ(history.since(0).content, 90);
  EXPECT_EQ(history.since(20).content, 70);
  EXPECT_EQ(history.since(20).cut, 20);
  EXPECT_EQ(longest_that_holds(900, 100, budget, history), 10);    // window from -90: 60 + 30 are inside
  EXPECT_EQ(longest_that_holds(1'060, 100, budget, history), 70);  // the first has left
  EXPECT_EQ(longest_that_holds(600, 5, budget, history), 5);
}

TEST(VoiceLoads, TheImportantComesFirstAndKeepsWhatItCan) {
  const GateLimits of = limits();  // 1 000 / 20: at most 50 bursts in 10 000 ticks
  VoiceLoads loads(of);
  loads.update(std::vector{request(0, 400, 50, 1), request(1, 250, 200, 9), request(2, 5, 3, 5)}, 80);
  ASSERT_EQ(loads.all().size(), 3u);
  EXPECT_EQ(loads.all()[0].voice, 1);
  EXPECT_EQ(loads.all()[0].on, 80) << "no longer than the longest";
  EXPECT_EQ(loads.all()[1].on, 20) << "no shorter than the shortest";
  EXPECT_EQ(loads.all()[1].period, 30) << "no closer than on-time and gap";
  EXPECT_EQ(loads.kept_of(1), 1);                             // 40 of 48.5 bursts
  EXPECT_DOUBLE_EQ(loads.kept_of(2), 8.5 / (10'000 / 30.0));  // the rest
  EXPECT_NEAR(loads.kept_of(0), 0, 1e-12);
  EXPECT_EQ(loads.kept_of(12), 1) << "nothing was said of it";
}

TEST(VoiceLoads, NamesTheTightestLimitThatCountsBursts) {
  GateLimits of = limits();
  EXPECT_EQ(VoiceLoads(of).decimated_by(), bit(Cause::duty, 0));
  of.duty.push_back({100'000, 5'000});
  EXPECT_EQ(VoiceLoads(of).decimated_by(), bit(Cause::duty, 1));
  of.start_window = 1'000, of.most_starts = 2;
  EXPECT_EQ(VoiceLoads(of).decimated_by(), bit(Cause::break_rate));
}

TEST(DutyWindow, AShortOneTurnsDownByTheMostThatItCanEverHold) {
  DutyWindow window({1'000, 100}, 16, 20, 1'000);
  // Every 400 ticks: up to three in a window, 60 ticks at their shortest; 100 of 300 are allowed.
  const std::vector<VoiceLoad> loads{{.period = 400, .on = 100}};
  EXPECT_DOUBLE_EQ(window.gain(loads, 0), (100 - 60) / (300 - 60.0));
  EXPECT_DOUBLE_EQ(window.gain(std::vector<VoiceLoad>{{.period = 400, .on = 30}}, 0), 1);
}

TEST(DutyWindow, ALongOneTurnsDownByItsBucket) {
  DutyWindow window({10'000, 1'000}, 64, 20, 1'000);
  const std::vector<VoiceLoad> loads{{.period = 400, .on = 100}};  // 0.25 a tick, 0.05 at the shortest
  const double full = 0.97 * (0.08 + 200 / (10'000 / 8.0));        // what a full bucket gives
  EXPECT_NEAR(window.gain(loads, 0), (full - 0.05) / 0.2, 1e-12);
  window.add(0, 100);
  window.add(400, 100);
  EXPECT_LT(window.gain(loads, 400), (full - 0.05) / 0.2);
}

TEST(DutyWindow, HoldsExactlyAndSaysHowMuchIsUsed) {
  DutyWindow window({1'000, 100}, 16, 20, 1'000);
  EXPECT_EQ(window.longest(0, 100), 100);
  window.add(0, 70);
  EXPECT_EQ(window.longest(500, 100), 30);
  EXPECT_DOUBLE_EQ(window.usage(500), 0.7);
  window.add(500, 30);
  EXPECT_DOUBLE_EQ(window.usage(530), 1);
  EXPECT_EQ(window.usage(1'530), 0) << "a window later nothing is left";
  EXPECT_EQ(window.longest(700, 100), 0);
}

// A tick at the gate takes a hundredth of the allowance.
EnergyWindow energy(std::vector<double> weights = {}) {
  if (weights.empty())
    for (int on = 0; on <= 100; ++on) weights.push_back(on);
  return EnergyWindow({1'000, 100, weights, bit(Cause::supply)}, 64, 20);
}

TEST(EnergyWindow, HoldsExactlyAndSaysHowMuchIsUsed) {
  EnergyWindow window = energy();
  EXPECT_EQ(window.longest(0, 100), 100);
  window.add(0, 70);
  EXPECT_NEAR(window.usage(10), 0.7, 1e-9);
  EXPECT_EQ(window.longest(500, 100), 29) << "parts are rounded up";
  window.add(500, 25);
  EXPECT_LT(window.longest(900, 100), 20) << "not even the shortest";
  EXPECT_EQ(window.longest(1'000, 100), 75) << "the first has left";
  EXPECT_NEAR(window.usage(1'400), 0.25, 1e-9);
  EXPECT_EQ(window.cause(), bit(Cause::supply));
}

TEST(EnergyWindow, TurnsDownToWhatTheBucketGives) {
  EnergyWindow window = energy();
  const std::vector<VoiceLoad> soft{{.period = 1'000, .on = 50}}, loud{{.period = 250, .on = 100}};
  EXPECT_EQ(window.gain(soft, 0), 1);
  // 0.4 of the allowance per 1 000 ticks, less each tick's rounding, against 0.08 at the shortest.
  const double full = 0.97 * (0.8 + 0.2 * 8);
  EXPECT_NEAR(window.gain(loud, 0), (full / 4 * 100 - 20) / 80, 0.02);
  for (Tick at = 0; at < 2'000; at += 250) window.add(at, 40);
  EXPECT_LT(window.gain(loud, 2'000), (full / 4 * 100 - 20) / 80 - 0.1) << "it has drained";
}

TEST(EnergyWindow, WhereNothingIsAllowedNothingFits) {
  EnergyWindow window({1'000, 0, std::vector<double>(101, 1.0), bit(Cause::tank_current)}, 64, 20);
  EXPECT_LT(window.longest(0, 100), 20);
}

class LiveHeatTest : public ::testing::Test {
 protected:
  static Profile coil(double heatsink_c) {
    Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/bench-36v.toml");
    profile.limits.heatsink_c = heatsink_c;
    return profile;
  }
  static Item item(Tick start, Tick on) { return {.start = start, .on = on, .wanted_on = on}; }
};

TEST_F(LiveHeatTest, BurstsHeatAndRestsCool) {
  const Profile profile = coil(70);
  const GateLimits of = gate_limits(profile, 2'000'000);
  const Burdens burdens(profile, 2'000'000, of);
  LiveHeat heat(burdens, of.on_min);
  const double start_c = heat.at(0).junction_c;
  Tick at = 0;
  for (int i = 0; i < 2'000; ++i, at += 2'000) {
    Item burst = item(at, of.on_max);
    heat.spare_the_sink(burst);
    heat.make(burst);
    EXPECT_EQ(burst.on, of.on_max) << "far below its limit";
    EXPECT_EQ(burst.causes, 0u);
  }
  const auto hot = heat.at(at);
  EXPECT_GT(hot.junction_c, start_c + 0.5);
  EXPECT_GT(hot.sink_c, start_c);
  EXPECT_LT(heat.at(at + 2'000'000).junction_c, hot.junction_c - 0.1);
}

TEST_F(LiveHeatTest, HalfWayThroughTheLastTenthABurstMayLoseHalf) {
  Profile profile = coil(65);  // 40 K over ambient: the last tenth is 4 K
  const GateLimits of = gate_limits(profile, 2'000'000);
  for (const auto& [below_k, share] : {std::pair{5.0, 1.0}, {2.0, 0.5}, {1.0, 0.25}}) {
    profile.heatsink.start_c = 65 - below_k;
    const Burdens burdens(profile, 2'000'000, of);
    Item burst = item(0, of.on_max);
    LiveHeat(burdens, of.on_min).spare_the_sink(burst);
    const std::vector<double>& losses = burdens.losses();
    const double most = share * losses[static_cast<std::size_t>(of.on_max)] * (1 + 1e-9);
    EXPECT_LE(losses[static_cast<std::size_t>(burst.on)], most) << below_k << " K below";
    if (share < 1) {
      EXPECT_GT(losses[static_cast<std::size_t>(burst.on) + 1], 0.95 * most) << below_k << " K below";
    } else {
      EXPECT_EQ(burst.on, of.on_max);
    }
  }
}

TEST_F(LiveHeatTest, TheSinkIsSparedBeforeItsLimitAndNeverPassed) {
  const Profile profile = coil(25.3);
  const GateLimits of = gate_limits(profile, 2'000'000);
  const Burdens burdens(profile, 2'000'000, of);
  LiveHeat heat(burdens, of.on_min);
  Causes causes = 0;
  Tick last = 0;
  for (Tick at = 0; at < 60'000'000; at += 4'000) {
    Item burst = item(at, of.on_max);
    heat.spare_the_sink(burst);
    ASSERT_EQ(burst.causes, burst.on < of.on_max ? bit(Cause::heatsink) : 0);
    heat.make(burst);
    causes |= burst.causes;
    if (!burst.dropped()) last = burst.on;
    ASSERT_LE(heat.at(at).sink_c, 25.3);
  }
  EXPECT_EQ(causes & ~Item::kDropped, bit(Cause::heatsink));
  EXPECT_LT(last, of.on_max);
}

}  // namespace
}  // namespace burstloom::guard_detail
