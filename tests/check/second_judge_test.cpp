// The judge against a second one that looks at every tick, stretch and clock included; and what it says of
// places, margins and violations against the stream itself.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "support/random_profiles.hpp"
#include "tick_by_tick.hpp"

namespace burstloom {
namespace {

using testing::coarse_profile;
using testing::coarse_stream;
using testing::lenient_profile;
using testing::result_of;
using testing::stream_of;
using testing::TickByTick;

void expect_same(const LimitResult& judged, const TickByTick::Figure& seen) {
  RC_LOG() << judged.limit << ": judged " << judged.worst << ", seen " << seen.worst << "\n";
  RC_ASSERT(judged.held == seen.held);
  RC_ASSERT(std::abs(judged.worst - seen.worst) <= 1e-9 * (1 + std::abs(seen.worst)));
}

RC_GTEST_PROP(SecondJudge, AgreesOnEveryLimit, ()) {
  Profile profile = coarse_profile();
  const BurstStream stream = coarse_stream();
  RC_PRE(!stream.bursts.empty());
  if (*rc::gen::arbitrary<bool>()) testing::fit_to(stream, profile);
  testing::log_case(stream, profile);
  const TickByTick second(stream, profile);
  const Judgement judgement = judge(stream, profile);
  expect_same(judgement.limits[0], second.on_time_max());
  expect_same(judgement.limits[1], second.on_time_min());
  RC_ASSERT(judgement.limits[2].held == second.gap().held);
  if (second.gap().worst < 1e18) expect_same(judgement.limits[2], second.gap());
  std::size_t next = 3;
  if (profile.limits.break_rate_hz) expect_same(judgement.limits[next++], second.break_rate());
  for (const DutyLimit& limit : profile.limits.duty)
    expect_same(judgement.limits[next++], second.duty(limit));
  RC_ASSERT(judgement.verdict == (second.holds_all() ? Verdict::within_limits : Verdict::outside_limits));
  RC_CLASSIFY(second.holds_all(), "within");
}

RC_GTEST_PROP(SecondJudge, FindsTheWorstWindowWhereItIsSaidToBe, ()) {
  const Profile profile = coarse_profile();
  const BurstStream stream = coarse_stream();
  const TickByTick second(stream, profile);
  const Judgement judgement = judge(stream, profile);
  const auto tick = [](double at_s) { return static_cast<Tick>(std::llround(at_s * testing::kCoarse_hz)); };
  const double slow = 1 + profile.drive.clock_tolerance_percent / 100;
  std::size_t next = 3;
  if (profile.limits.break_rate_hz) {
    const LimitResult& rate = judgement.limits[next++];
    RC_ASSERT(10.0 * static_cast<double>(second.starts_up_to(tick(rate.at_s))) == rate.worst);
  }
  for (const DutyLimit& limit : profile.limits.duty) {
    const LimitResult& duty = judgement.limits[next++];
    const auto percent = [&](double at_s) {
      return static_cast<double>(second.content_before(tick(at_s), limit)) * slow * 100 /
             (limit.window_ms * 1e-3 * testing::kCoarse_hz);
    };
    RC_ASSERT(std::abs(percent(duty.at_s) - duty.worst) < 1e-9 * (1 + duty.worst));
    for (const Violation& violation : judgement.violations)
      if (violation.limit == duty.limit && profile.limits.duty.size() == 1)
        RC_ASSERT(std::abs(percent(violation.at_s) - violation.value) < 1e-9 * (1 + violation.value));
  }
}

RC_GTEST_PROP(SecondJudge, MarginsAreNegativeWhereALimitIsPassedAndOnlyThere, ()) {
  const Judgement judgement = judge(coarse_stream(), coarse_profile());
  for (const LimitResult& limit : judgement.limits) {
    RC_LOG() << limit.limit << " " << limit.worst << " of " << limit.allowed << ", " << limit.margin_percent
             << " %\n";
    RC_ASSERT((limit.margin_percent >= -1e-9) == limit.held);
  }
}

RC_GTEST_PROP(SecondJudge, MarginsAgreeWithVerdictsForWildProfiles, ()) {
  const Profile profile = testing::random_profile();
  const double centre_us = (profile.limits.on_time_min_us + profile.limits.on_time_max_us) / 2;
  BurstStream stream{kDefaultTickHz, 0, {}};
  Tick at = 0;
  for (int i = *rc::gen::inRange(1, 30); i > 0; --i) {
    const auto on = static_cast<Tick>(centre_us * testing::between(0.5, 3)) + 1;
    stream.bursts.push_back({at, on});
    at += on + static_cast<Tick>(testing::between(0, 3) * (profile.limits.gap_us + 2));
  }
  stream.length = at;
  testing::log_case(stream, profile);
  const Judgement judgement = judge(stream, profile);
  for (const LimitResult& limit : judgement.limits)
    if (!limit.unsure) RC_ASSERT((limit.margin_percent >= -1e-6) == limit.held);
  const bool current_judged = std::any_of(judgement.limits.begin(), judgement.limits.end(),
                                          [](const auto& it) { return it.limit == "peak current"; });
  const bool current_named = std::any_of(judgement.not_judged.begin(), judgement.not_judged.end(),
                                         [](const auto& it) { return it.limit == "peak current"; });
  RC_ASSERT(current_judged != current_named);
}

RC_GTEST_PROP(SecondJudge, EveryLimitThatIsPassedHasAViolationAndNoOtherHas, ()) {
  const Judgement judgement = judge(coarse_stream(), coarse_profile());
  RC_ASSERT(judgement.violations_in_all == static_cast<std::int64_t>(judgement.violations.size()));
  for (const LimitResult& limit : judgement.limits) {
    const bool listed = std::any_of(judgement.violations.begin(), judgement.violations.end(),
                                    [&](const Violation& it) { return it.limit == limit.limit; });
    RC_ASSERT(listed == !limit.held);
  }
  RC_ASSERT(std::is_sorted(judgement.violations.begin(), judgement.violations.end(),
                           [](const Violation& a, const Violation& b) { return a.at_s < b.at_s; }));
}

// Both fuller windows and shorter gaps come from what is there; what goes takes nothing's place.
RC_GTEST_PROP(SecondJudge, WhatIsWithinStaysWithinWhenABurstGetsShorterOrGoes, ()) {
  Profile profile = coarse_profile();
  profile.limits.on_time_min_us = 0.5;
  profile.limits.on_time_max_us = 1e6;
  BurstStream stream = coarse_stream();
  const auto stretch = static_cast<Tick>(profile.drive.pulse_stretch_ns * 1e-9 * testing::kCoarse_hz) + 2;
  Tick apart = 0;  // so that no burst is a part of another, which without it would fall in two
  for (Burst& burst : stream.bursts) burst.start += apart += stretch;
  stream.length += apart;
  RC_PRE(!stream.bursts.empty());
  testing::fit_to(stream, profile);
  RC_PRE(judge(stream, profile).verdict == Verdict::within_limits);
  testing::log_case(stream, profile);
  const auto which = *rc::gen::inRange<std::size_t>(0, stream.bursts.size());
  const Tick left = *rc::gen::inRange<Tick>(0, stream.bursts[which].on);
  RC_LOG() << "burst " << which << " gets " << left << " ticks\n";
  if (left > 0)
    stream.bursts[which].on = left;
  else
    stream.bursts.erase(stream.bursts.begin() + static_cast<std::ptrdiff_t>(which));
  RC_ASSERT(judge(stream, profile).verdict == Verdict::within_limits);
}

TEST(SecondJudge, WhatTheStretchJoinsIsOneBurst) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = 0;
  profile.limits.on_time_max_us = 50;
  profile.drive.pulse_stretch_ns = 1000;  // two ticks
  const auto longest = [&](Tick second_start) {
    return result_of(judge(stream_of({{0, 40}, {second_start, 40}}), profile), "on-time max").worst;
  };
  EXPECT_NEAR(longest(42), 42, 1e-9);  // a dip of two ticks: 82 ticks and the stretch
  EXPECT_NEAR(longest(43), 21, 1e-9);
}

// A dip that the stretch may fill is no gap; the driver that adds a little less than stated sees a sliver.
TEST(SecondJudge, ADipThatTheStretchMayFillIsNoGap) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = 100;
  profile.drive.pulse_stretch_ns = 500;
  const Judgement judgement = judge(stream_of({{0, 20}, {21, 20}}), profile);
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_FALSE(result_of(judgement, "gap").held);
  EXPECT_NEAR(result_of(judgement, "gap").worst, 0, 1e-9);
  EXPECT_EQ(judge(stream_of({{0, 20}, {20, 20}}), profile).verdict, Verdict::within_limits);
}

TEST(SecondJudge, CountsExactlyAsManyViolationsAsItsListHolds) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  const auto judged = [&](std::size_t bursts) {
    std::vector<Burst> too_long;
    for (std::size_t i = 0; i < bursts; ++i) too_long.push_back({static_cast<Tick>(i) * 30, 11});
    return judge(stream_of(too_long), profile);
  };
  for (const std::size_t bursts : {kViolationsListed - 1, kViolationsListed, kViolationsListed + 1}) {
    const Judgement judgement = judged(bursts);
    EXPECT_EQ(judgement.violations_in_all, static_cast<std::int64_t>(bursts));
    EXPECT_EQ(judgement.violations.size(), std::min(bursts, kViolationsListed));
    EXPECT_EQ(judgement.violations.front().at_s, 0);
  }
}

// The list holds the earliest of all limits together, not the first thousand of the first limit.
TEST(SecondJudge, ListsTheEarliestOfAllLimits) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  profile.limits.gap_us = 10;
  std::vector<Burst> bursts{{0, 5}, {10, 5}};  // too close, at 5 us, before any is too long
  for (Tick i = 0; i < 1500; ++i) bursts.push_back({100 + i * 40, 11});
  const Judgement judgement = judge(stream_of(bursts), profile);
  EXPECT_EQ(judgement.violations_in_all, 1501);
  EXPECT_EQ(judgement.violations.front().limit, "gap");
  EXPECT_NEAR(judgement.violations.front().at_s, 5e-6, 1e-12);
}

}  // namespace
}  // namespace burstloom
