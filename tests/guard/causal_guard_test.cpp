// The live guard as a whole: which cause is told, and what it refuses to stand for.
#include "burstloom/guard/causal_guard.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr std::int64_t kTickHz = 2'000'000;

Profile roomy() {  // bursts of 4 to 50 us, 100 us of gap, and nothing else binds
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{1000, 100}};
  return profile;
}
Profile bench() {
  Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/bench-36v.toml");
  profile.limits.duty = {{1000, 100}};
  return profile;
}

// A note held by one voice.
struct Played {
  Causes causes = 0;  ///< all that were told
  std::size_t made = 0, dropped = 0;
  Tick steepest = 0;  ///< the largest step between neighbours' on-times
  PlacementResult last;
  LimitUsage usage;
};
Played hold(CausalGuard& guard, Tick period, Tick on, int count) {
  Played played;
  Tick at = 0;
  for (int i = 0; i < count; ++i, at += period) {
    const WantedBurst wanted{.start = at, .on = on, .cap = period / 10};
    const Tick before = played.last.on;
    played.last = guard.settle(wanted, std::vector<VoiceRequest>{{wanted, static_cast<double>(period)}});
    if (before > 0) played.steepest = std::max(played.steepest, before - played.last.on);
    played.causes |= played.last.causes;
    ++(played.last.fate == Fate::dropped ? played.dropped : played.made);
  }
  played.usage = guard.usage(at);
  return played;
}
Played hold(const Profile& profile, Tick period, Tick on, int count) {
  CausalGuard guard(profile, kTickHz);
  return hold(guard, period, on, count);
}

TEST(CausalGuard, WhatBreaksNothingIsKeptAsItIs) {
  const Played played = hold(roomy(), 2'000, 60, 100);
  EXPECT_EQ(played.causes, 0u);
  EXPECT_EQ(played.made, 100u);
  EXPECT_EQ(played.last.fate, Fate::kept);
  EXPECT_EQ(played.last.start, 99 * 2'000);
  EXPECT_EQ(played.last.on, 60);
  EXPECT_EQ(played.usage.gain, 1);
  EXPECT_EQ(played.usage.break_rate, -1) << "not limited";
  EXPECT_FALSE(played.usage.knows_heat);
}

TEST(CausalGuard, TellsOnTimesOutOfRange) {
  EXPECT_EQ(hold(roomy(), 2'000, 300, 1).causes, bit(Cause::on_time_max));
  EXPECT_EQ(hold(roomy(), 2'000, 6, 1).causes, bit(Cause::on_time_min));
  EXPECT_EQ(hold(roomy(), 2'000, 3, 1).last.fate, Fate::dropped);
}

TEST(CausalGuard, TellsTheGap) {
  CausalGuard guard(roomy(), kTickHz);
  const WantedBurst first{.start = 0, .on = 60, .cap = 100};
  const WantedBurst second{.start = 160, .on = 60, .cap = 100, .voice = 1};
  const std::vector<VoiceRequest> requests{{first, 2'000}, {second, 2'000}};
  EXPECT_EQ(guard.settle(first, requests).causes, 0u);
  const PlacementResult moved = guard.settle(second, std::vector<VoiceRequest>{{second, 2'000}});
  EXPECT_EQ(moved.fate, Fate::shifted);
  EXPECT_EQ(moved.start, 260);
  EXPECT_EQ(moved.causes, bit(Cause::gap));
}

TEST(CausalGuard, TellsTheBreakRateAndTakesBurstsEvenly) {
  Profile profile = roomy();
  profile.limits.break_rate_hz = 500;  // the note wants 1000
  const Played played = hold(profile, 2'000, 20, 1'000);
  EXPECT_EQ(played.causes, bit(Cause::break_rate));
  EXPECT_NEAR(static_cast<double>(played.made), 485, 3) << "500 less the headroom";
  EXPECT_GT(played.usage.break_rate, 0.9);
  EXPECT_LE(played.usage.break_rate, 1);
}

TEST(CausalGuard, TellsWhichDutyWindow) {
  Profile profile = roomy();
  profile.limits.duty = {{10, 90}, {1000, 3}};  // the note wants 5 %
  const Played played = hold(profile, 2'000, 100, 4'000);
  EXPECT_EQ(played.causes, bit(Cause::duty, 1));
  EXPECT_EQ(played.dropped, 0u) << "turned down, not chopped";
  EXPECT_LT(played.usage.gain, 1);
  EXPECT_LT(played.usage.duty[0], 0.1);
  EXPECT_NEAR(played.usage.duty[1], 0.78, 0.05) << "four fifths";
  EXPECT_EQ(played.usage.duty[2], -1) << "there is no such window";
}

TEST(CausalGuard, TellsSupplyAndTankCurrent) {
  Profile profile = bench();
  profile.limits.supply_w = 4;
  Played played = hold(profile, 4'000, 70, 4'000);
  EXPECT_EQ(played.causes, bit(Cause::supply));
  EXPECT_GT(played.usage.supply, 0.7);
  profile = bench();
  profile.limits.tank_capacitor_a_rms = 2.5;
  played = hold(profile, 4'000, 70, 4'000);
  EXPECT_EQ(played.causes, bit(Cause::tank_current));
  EXPECT_GT(played.usage.tank_current, 0.7);
  EXPECT_LE(played.usage.tank_current, 1);
}

TEST(CausalGuard, TellsHeatsinkAndJunction) {
  Profile profile = bench();
  profile.limits.supply_w.reset();
  profile.limits.heatsink_c = 26;
  Played played = hold(profile, 4'000, 70, 50'000);
  EXPECT_EQ(played.causes, bit(Cause::heatsink));
  EXPECT_TRUE(played.usage.knows_heat);
  EXPECT_LE(played.usage.sink_c, 26);
  EXPECT_LE(played.steepest, 10) << "spared, not chopped";
  profile.limits.heatsink_c = 70;
  profile.limits.junction_c = 27;
  played = hold(profile, 1'000, 70, 10'000);
  EXPECT_EQ(played.causes, bit(Cause::junction));
  EXPECT_LE(played.usage.junction_c, 27);
}

// Where nobody said what is to come, nothing is turned down ahead: the limits hold all the same.
TEST(CausalGuard, HoldsAndTellsWhatNobodyAskedFor) {
  Profile profile = roomy();
  profile.limits.duty = {{10, 90}, {1000, 1}};
  CausalGuard guard(profile, kTickHz);
  Tick on = 0;
  for (Tick at = 0; at < 2'000'000; at += 2'000) {
    const PlacementResult result = guard.settle({.start = at, .on = 90, .cap = 200}, {});
    on += result.on;
    ASSERT_EQ(result.causes, result.on < 90 ? bit(Cause::duty, 1) : 0);
  }
  EXPECT_EQ(on, 20'000);
}

TEST(CausalGuard, NoBurstIsLongerThanTheSoftStartAllows) {
  CausalGuard guard(roomy(), kTickHz);
  guard.set_longest_on(30);
  EXPECT_EQ(guard.longest_on(), 30);
  const Played soft = hold(guard, 2'000, 60, 1);
  EXPECT_EQ(soft.last.on, 30);
  EXPECT_EQ(soft.causes, bit(Cause::on_time_max));
  guard.set_longest_on(1'000'000);
  EXPECT_EQ(guard.longest_on(), 100) << "the coil's";
  guard.set_longest_on(0);
  EXPECT_EQ(guard.longest_on(), 8) << "the shortest that the coil may have";
}

// Of the song, what was made is remembered; of what was dropped nothing.
TEST(CausalGuard, UsageFallsAgain) {
  Profile profile = roomy();
  profile.limits.break_rate_hz = 2'000;
  profile.limits.duty = {{10, 50}};
  CausalGuard guard(profile, kTickHz);
  (void)hold(guard, 2'000, 60, 50);
  EXPECT_GT(guard.usage(98'060).duty[0], 0.05);
  EXPECT_GT(guard.usage(98'060).break_rate, 0.2);
  EXPECT_EQ(guard.usage(98'060 + 20'000).duty[0], 0);
  EXPECT_EQ(guard.usage(98'060 + 300'000).break_rate, 0);
}

Error refusal(const Profile& profile, std::int64_t tick_hz) {
  try {
    CausalGuard guard(profile, tick_hz);
  } catch (const Error& error) {
    return error;
  }
  throw std::logic_error("it was taken");
}

TEST(CausalGuard, AShortWindowTurnsDownFromTheFirstBurstALongOneLater) {
  Profile profile = roomy();
  profile.limits.duty = {{10, 10}};
  EXPECT_LT(hold(profile, 500, 100, 1).last.on, 60);  // 20 % is asked for
  profile.limits.duty = {{1000, 10}};
  EXPECT_EQ(hold(profile, 500, 100, 1).last.on, 100);
}

TEST(CausalGuard, UsageTellsTemperatures) {
  const LimitUsage usage = hold(bench(), 2'000, 90, 500).usage;
  EXPECT_TRUE(usage.knows_heat);
  EXPECT_GT(usage.sink_c, 25);
  EXPECT_GT(usage.junction_c, usage.sink_c + 0.1);
  EXPECT_FALSE(hold(roomy(), 2'000, 60, 10).usage.knows_heat);
}

TEST(CausalGuard, RefusesWhatItsHeaderSays) {
  EXPECT_EQ(refusal(roomy(), 999).fault(), Fault::usage);
  EXPECT_EQ(refusal(roomy(), 100'000'001).fault(), Fault::usage);
  Profile profile = roomy();
  profile.limits.gap_us = 600e6;  // past the weaver's clock
  EXPECT_EQ(refusal(profile, kTickHz).fault(), Fault::usage);
  profile = roomy();
  profile.limits.on_time_min_us = 1;
  profile.limits.gap_us = 1;
  profile.limits.duty = {{60'000, 50}};
  const Error error = refusal(profile, kTickHz);
  EXPECT_EQ(error.fault(), Fault::usage);
  EXPECT_NE(std::string(error.what()).find("a window of 60"), std::string::npos) << error.what();
  profile.limits.break_rate_hz = 2'500;  // as it advises
  EXPECT_NO_THROW(CausalGuard(profile, kTickHz));
}

}  // namespace
}  // namespace burstloom
