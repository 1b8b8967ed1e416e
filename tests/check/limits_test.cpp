// Each limit, kept exactly and passed by one tick. Two ticks a microsecond throughout.
#include <cmath>

#include "burstloom/common/error.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::result_of;
using testing::stream_of;

void expect_held(const BurstStream& stream, const Profile& profile, const std::string& limit, double worst) {
  const Judgement judgement = judge(stream, profile);
  const LimitResult& result = result_of(judgement, limit);
  EXPECT_TRUE(result.held) << limit;
  EXPECT_NEAR(result.worst, worst, 1e-9) << limit;
  EXPECT_GE(result.margin_percent, -1e-9);
  EXPECT_EQ(judgement.verdict, Verdict::within_limits);
  EXPECT_EQ(judgement.violations_in_all, 0);
}

void expect_passed(const BurstStream& stream, const Profile& profile, const std::string& limit, double worst,
                   double at_s) {
  const Judgement judgement = judge(stream, profile);
  const LimitResult& result = result_of(judgement, limit);
  EXPECT_FALSE(result.held) << limit;
  EXPECT_FALSE(result.unsure);
  EXPECT_NEAR(result.worst, worst, 1e-9) << limit;
  EXPECT_NEAR(result.at_s, at_s, 1e-12) << limit;
  EXPECT_LT(result.margin_percent, 0);
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  ASSERT_GE(judgement.violations.size(), 1u);
  EXPECT_EQ(judgement.violations[0].limit, limit);
  EXPECT_NEAR(judgement.violations[0].value, worst, 1e-9);
  EXPECT_NEAR(judgement.violations[0].at_s, at_s, 1e-12);
}

TEST(Limits, OnTimeMax) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 50;
  expect_held(stream_of({{0, 100}, {1000, 100}}), profile, "on-time max", 50);
  expect_passed(stream_of({{0, 100}, {1000, 101}}), profile, "on-time max", 50.5, 0.0005);
}

TEST(Limits, AMaximumIsRoundedDown) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 50.4;  // 100.8 ticks
  expect_held(stream_of({{0, 100}}), profile, "on-time max", 50);
  expect_passed(stream_of({{0, 101}}), profile, "on-time max", 50.5, 0);
}

TEST(Limits, OnTimeMin) {
  Profile profile = lenient_profile();
  profile.limits.on_time_min_us = 5;
  expect_held(stream_of({{0, 10}, {1000, 20}}), profile, "on-time min", 5);
  expect_passed(stream_of({{0, 20}, {1000, 9}}), profile, "on-time min", 4.5, 0.0005);
}

TEST(Limits, AMinimumIsRoundedUp) {
  Profile profile = lenient_profile();
  profile.limits.on_time_min_us = 5.1;  // 10.2 ticks
  expect_held(stream_of({{0, 11}}), profile, "on-time min", 5.5);
  expect_passed(stream_of({{0, 10}}), profile, "on-time min", 5, 0);
}

TEST(Limits, Gap) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = 100;
  expect_held(stream_of({{0, 10}, {210, 10}, {500, 10}}), profile, "gap", 100);
  expect_passed(stream_of({{0, 10}, {210, 10}, {419, 10}}), profile, "gap", 99.5, 0.0002095);
}

TEST(Limits, BurstsThatTouchAreOneBurst) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = 0;
  profile.limits.on_time_max_us = 50;
  expect_passed(stream_of({{0, 60}, {60, 60}}), profile, "on-time max", 60, 0);
  expect_held(stream_of({{0, 60}, {61, 60}}), profile, "on-time max", 30);
}

TEST(Limits, BreakRate) {
  Profile profile = lenient_profile();
  profile.limits.break_rate_hz = 50;  // five starts in any 100 ms
  std::vector<Burst> bursts;
  for (Tick i = 0; i < 20; ++i) bursts.push_back({i * 40'000, 10});  // every 20 ms: five starts a window
  expect_held(stream_of(bursts), profile, "break rate", 50);
  bursts.push_back({bursts.back().start + 39'999, 10});  // one tick early: six starts in a half-open 100 ms
  expect_passed(stream_of(bursts), profile, "break rate", 60, static_cast<double>(bursts.back().start) / 2e6);
}

TEST(Limits, DutyCountsThePartOfABurstThatIsInTheWindow) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{1, 20}};  // 400 ticks in any 2000
  // 300 ticks at 0, 300 at 1800: the window [100, 2100) holds 200 + 300.
  expect_passed(stream_of({{0, 300}, {1800, 300}}), profile, "duty 1 ms", 25, 0.00105);
  // At 1900: [200, 2200) holds 100 + 300.
  expect_held(stream_of({{0, 300}, {1900, 300}}), profile, "duty 1 ms", 20);
}

TEST(Limits, DutyWindowsKeepTheirLengthAtTheEnds) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{1000, 10}};  // a song of a millisecond, half of it on: 0.05 % of a second
  expect_held(stream_of({{0, 1000}}, 2000), profile, "duty 1000 ms", 0.05);
}

TEST(Limits, AWindowIsRoundedUpItsAllowanceDown) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{0.00525, 50}};  // 10.5 ticks, so 11; 5.25 allowed, so 5
  EXPECT_EQ(judge(stream_of({{0, 5}, {11, 5}}), profile).verdict, Verdict::within_limits);
  EXPECT_EQ(judge(stream_of({{0, 5}, {10, 5}}), profile).verdict, Verdict::outside_limits);
  EXPECT_EQ(judge(stream_of({{0, 6}}), profile).verdict, Verdict::outside_limits);
}

TEST(Limits, PeakCurrentByMeasuredPoints) {
  Profile profile = lenient_profile();
  profile.drive.bus_v = 100;
  profile.drive.bus_tolerance_percent = 10;
  profile.measured = MeasuredCurrent{50, false, {10, 20, 40}, {10, 20, 30}};
  profile.limits.peak_current_a = 44;  // the bus is at most 110 V: 2.2 times what was measured
  expect_held(stream_of({{0, 40}}), profile, "peak current", 44);
  expect_passed(stream_of({{0, 60}}), profile, "peak current", 55, 0);
  // Under the first point its current holds.
  expect_held(stream_of({{0, 2}}), profile, "peak current", 22);
}

TEST(Limits, StretchLengthensBurstsAndShortensGaps) {
  Profile profile = lenient_profile();
  profile.drive.pulse_stretch_ns = 500;  // one tick
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  expect_held(stream_of({{0, 99}, {300, 99}}), profile, "on-time max", 50);
  expect_passed(stream_of({{0, 100}}), profile, "on-time max", 50.5, 0);
  expect_held(stream_of({{0, 99}, {300, 99}}), profile, "gap", 100);
  expect_passed(stream_of({{0, 99}, {299, 99}}), profile, "gap", 99.5, 0.0001495);
}

TEST(Limits, StretchCountsInEveryDutyWindow) {
  Profile profile = lenient_profile();
  profile.drive.pulse_stretch_ns = 500;
  profile.limits.duty = {{0.05, 20}};  // 20 ticks of 100
  expect_held(stream_of({{0, 9}, {50, 9}}), profile, "duty 0.05 ms", 20);
  expect_passed(stream_of({{0, 9}, {50, 10}}), profile, "duty 0.05 ms", 21, 61 / 2e6);
}

TEST(Limits, ASlowClockMakesBurstsLongerAFastOneGapsShorter) {
  Profile profile = lenient_profile();
  profile.drive.clock_tolerance_percent = 1;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 99;
  // 49.5 us may be 49.995; 50 may be 50.5.
  expect_held(stream_of({{0, 99}}), profile, "on-time max", 49.995);
  expect_passed(stream_of({{0, 100}}), profile, "on-time max", 50.5, 0);
  // A gap of 100 us may be 99.
  EXPECT_TRUE(result_of(judge(stream_of({{0, 10}, {210, 10}}), profile), "gap").held);
  EXPECT_FALSE(result_of(judge(stream_of({{0, 10}, {209, 10}}), profile), "gap").held);
}

TEST(Limits, AFastClockSqueezesMoreIntoAWindow) {
  Profile profile = lenient_profile();
  profile.drive.clock_tolerance_percent = 1;
  profile.limits.duty = {{1, 10}};  // a window of 2000 / 0.99 ticks, up: 2021; 200 / 1.01 allowed, down: 198
  const auto verdict = [&](std::vector<Burst> bursts) {
    return judge(stream_of(std::move(bursts)), profile).verdict;
  };
  EXPECT_EQ(verdict({{0, 99}, {1922, 99}}), Verdict::within_limits);  // [0, 2021)
  EXPECT_EQ(verdict({{0, 99}, {1000, 99}}), Verdict::within_limits);
  EXPECT_EQ(verdict({{0, 100}, {1000, 99}}), Verdict::outside_limits);
  EXPECT_EQ(verdict({{0, 99}, {1921, 100}}), Verdict::outside_limits);
  EXPECT_EQ(verdict({{0, 99}, {1922, 100}}), Verdict::within_limits);  // a tick further: one falls out
}

TEST(Limits, InStreamIsWithoutStretchAndClock) {
  Profile profile = lenient_profile();
  profile.drive.clock_tolerance_percent = 2;
  profile.drive.pulse_stretch_ns = 1000;
  const Judgement judgement = judge(stream_of({{0, 40}, {1000, 60}}), profile);
  EXPECT_NEAR(result_of(judgement, "on-time max").in_stream, 30, 1e-12);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 30 * 1.02 + 1, 1e-12);
  EXPECT_NEAR(result_of(judgement, "on-time min").in_stream, 20, 1e-12);
  EXPECT_NEAR(result_of(judgement, "gap").in_stream, 480, 1e-12);
  EXPECT_NEAR(result_of(judgement, "gap").worst, 480 * 0.98 - 1, 1e-12);
}

TEST(Limits, WhatHasNoLimitOrNoDataIsNamed) {
  const Judgement judgement = judge(stream_of({{0, 10}}), lenient_profile());
  std::vector<std::string> named;
  for (const NotJudged& it : judgement.not_judged) {
    named.push_back(it.limit);
    EXPECT_FALSE(it.why.empty());
  }
  for (const char* limit : {"break rate", "peak current", "junction", "heatsink", "supply"})
    EXPECT_EQ(std::count(named.begin(), named.end(), limit), 1) << limit;
}

TEST(Limits, ViolationsComeInOrderOfTimeAndAreCountedBeyondTheList) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  profile.limits.gap_us = 10;
  std::vector<Burst> bursts;
  for (Tick i = 0; i < 3000; ++i) bursts.push_back({i * 30, 20});  // each too long and too close
  const Judgement judgement = judge(stream_of(bursts), profile);
  EXPECT_EQ(judgement.violations_in_all, 3000 + 2999);
  ASSERT_EQ(judgement.violations.size(), kViolationsListed);
  for (std::size_t i = 1; i < judgement.violations.size(); ++i)
    EXPECT_LE(judgement.violations[i - 1].at_s, judgement.violations[i].at_s);
}

TEST(Limits, NoBurstIsWithinLimits) {
  const Judgement judgement = judge(stream_of({}, 2000), lenient_profile());
  EXPECT_EQ(judgement.verdict, Verdict::within_limits);
  EXPECT_EQ(judgement.rest_before_repeat_s, 0.0);
}

TEST(Limits, AStreamOutOfOrderOrAWildToleranceIsRefused) {
  EXPECT_THROW((void)judge(stream_of({{100, 10}, {50, 10}}), lenient_profile()), Error);
  for (const double tolerance : {-0.1, 5.1, std::nan("")})
    EXPECT_THROW((void)judge(stream_of({{0, 10}}), lenient_profile(), {.tolerance_us = tolerance}), Error);
}

// Two passages past the limit: the milder one tells its own worst window, too, not its first.
TEST(Limits, EachPassagePastALimitTellsItsOwnWorst) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{1, 10}};  // 200 of 2000 ticks
  std::vector<Burst> bursts;
  for (Tick i = 0; i < 20; ++i) bursts.push_back({i * 200, 100});
  for (Tick i = 0; i < 4; ++i) bursts.push_back({10'000 + i * 500, 100});
  const Judgement judgement = judge(stream_of(bursts), profile);
  ASSERT_EQ(judgement.violations.size(), 2U);
  EXPECT_NEAR(judgement.violations[0].value, 50, 1e-9);
  EXPECT_NEAR(judgement.violations[1].value, 20, 1e-9);
}

}  // namespace
}  // namespace burstloom
