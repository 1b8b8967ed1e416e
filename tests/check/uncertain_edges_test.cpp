// What a capture tells of the wire it was taken from: a sampler shows each edge at the next sample, up to the
// tolerance late. Whatever the wire did, "within" and "outside" must be true of it.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::result_of;

constexpr std::int64_t kHz = 1'000'000;  // a tick a microsecond

Profile close_limits() {
  const auto number = [](int low, int high) { return static_cast<double>(*rc::gen::inRange(low, high)); };
  Profile profile = lenient_profile();
  profile.limits.on_time_min_us = number(1, 14);
  profile.limits.on_time_max_us = number(15, 40);
  profile.limits.gap_us = number(6, 30);
  profile.limits.duty = {{number(20, 300) / 1000, number(10, 101)}};
  if (*rc::gen::arbitrary<bool>()) profile.limits.break_rate_hz = 10 * number(2, 6);
  profile.drive.pulse_stretch_ns = 1000 * *rc::gen::element(0.0, number(0, 4));
  profile.drive.clock_tolerance_percent = 0;
  return profile;
}

// Bursts close together, or about as far apart as makes the break rate a matter of ticks.
BurstStream wire() {
  BurstStream stream{kHz, 0, {}};
  const Tick apart = *rc::gen::element<Tick>(0, 20'000, 33'320, 50'000);
  Tick at = 10;
  for (int i = *rc::gen::inRange(1, 14); i > 0; --i) {
    const Tick on = *rc::gen::inRange<Tick>(6, 45);
    stream.bursts.push_back({at, on});
    at += apart > 0 ? apart + *rc::gen::inRange<Tick>(-8, 8) : on + *rc::gen::inRange<Tick>(6, 50);
  }
  stream.length = stream.bursts.back().end() + 20;
  return stream;
}

BurstStream sampled(const BurstStream& wire, Tick late) {
  BurstStream seen = wire;
  for (Burst& burst : seen.bursts) {
    const Tick rise = burst.start + *rc::gen::inRange<Tick>(0, late + 1);
    burst = {rise, burst.end() + *rc::gen::inRange<Tick>(0, late + 1) - rise};
  }
  return seen;
}

RC_GTEST_PROP(UncertainEdges, NeverMakeAVerdictUntrue, ()) {
  const Profile profile = close_limits();
  const BurstStream truth = wire();
  const Tick late = *rc::gen::inRange<Tick>(0, 6);
  const BurstStream seen = sampled(truth, late);
  const Verdict said =
      judge(seen, profile, {.tolerance_us = static_cast<double>(late), .measured = true}).verdict;
  const Verdict is = judge(truth, profile).verdict;
  RC_CLASSIFY(said == Verdict::within_limits, "said within");
  RC_CLASSIFY(said == Verdict::outside_limits, "said outside");
  RC_ASSERT(said == Verdict::cannot_tell || said == is);
}

RC_GTEST_PROP(UncertainEdges, AreNoneWithoutATolerance, ()) {
  const BurstStream seen = wire();
  RC_ASSERT(judge(seen, close_limits(), {.measured = true}).verdict != Verdict::cannot_tell);
}

// More uncertainty never makes a verdict surer.
RC_GTEST_PROP(UncertainEdges, OnlyMakeVerdictsLessSure, ()) {
  const Profile profile = close_limits();
  const BurstStream seen = wire();
  const auto with = [&](double tolerance_us) {
    return judge(seen, profile, {.tolerance_us = tolerance_us, .measured = true});
  };
  const double little = *rc::gen::inRange(0, 5);
  const Judgement sure = with(little), less_sure = with(little + 1);
  for (std::size_t i = 0; i < sure.limits.size(); ++i) {
    if (sure.limits[i].unsure) RC_ASSERT(less_sure.limits[i].unsure);
    if (less_sure.limits[i].held) RC_ASSERT(sure.limits[i].held);
  }
}

TEST(UncertainEdges, LeaveTheBreakRateOpen) {
  Profile profile = lenient_profile();
  profile.limits.break_rate_hz = 50;
  const auto rate = [&](Tick period, double tolerance_us) {
    BurstStream stream{kHz, 0, {}};
    for (Tick i = 0; i < 6; ++i) stream.bursts.push_back({i * period, 10});
    stream.length = stream.bursts.back().end();
    return result_of(judge(stream, profile, {.tolerance_us = tolerance_us, .measured = true}), "break rate");
  };
  EXPECT_TRUE(rate(20'000, 0).held);    // the sixth start lies 100 ms after the first
  EXPECT_TRUE(rate(20'000, 1).unsure);  // or a microsecond sooner
  EXPECT_TRUE(rate(20'001, 1).held);
  EXPECT_TRUE(rate(19'999, 5).unsure);
  const LimitResult passed = rate(19'990, 1);
  EXPECT_FALSE(passed.held);
  EXPECT_FALSE(passed.unsure);
}

TEST(UncertainEdges, LeavePeakCurrentOpen) {
  Profile profile = lenient_profile();
  profile.drive.bus_v = 36;
  profile.drive.bus_tolerance_percent = 0;
  profile.measured = MeasuredCurrent{36, true, {10, 40}, {10, 40}};  // an ampere a microsecond
  profile.limits.peak_current_a = 30;
  const auto current = [&](Tick on) {
    return result_of(judge({kHz, on, {{0, on}}}, profile, {.tolerance_us = 2, .measured = true}),
                     "peak current");
  };
  EXPECT_TRUE(current(28).held);
  EXPECT_TRUE(current(29).unsure);
  EXPECT_TRUE(current(32).unsure);
  EXPECT_FALSE(current(33).held || current(33).unsure);
}

TEST(UncertainEdges, TheToleranceStandsInTheJudgement) {
  const BurstStream none{kHz, 100, {}};
  EXPECT_EQ(judge(none, lenient_profile(), {.tolerance_us = 5, .measured = true}).tolerance_us, 5);
  EXPECT_EQ(judge(none, lenient_profile(), {.tolerance_us = 0}).tolerance_us, 0);
}

}  // namespace
}  // namespace burstloom
