// The judge against sums made tick by tick, and against the song really played twice.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <numeric>

#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::result_of;
using testing::stream_of;

BurstStream small_stream() {
  BurstStream stream{1'000'000, 0, {}};  // a tick a microsecond
  Tick at = 0;
  const int count = *rc::gen::inRange(1, 25);
  for (int i = 0; i < count; ++i) {
    at += *rc::gen::inRange<Tick>(1, 30);
    const Tick on = *rc::gen::inRange<Tick>(1, 12);
    stream.bursts.push_back({at, on});
    at += on;
  }
  stream.length = at + *rc::gen::inRange<Tick>(0, 40);
  return stream;
}

// The gate tick by tick, with room on both sides for windows that reach past the ends.
std::vector<int> levels(const BurstStream& stream, Tick margin) {
  std::vector<int> level(static_cast<std::size_t>(stream.length + 2 * margin), 0);
  for (const Burst& burst : stream.bursts)
    for (Tick t = burst.start; t < burst.end(); ++t) level[static_cast<std::size_t>(t + margin)] = 1;
  return level;
}

int most_in_any_window(const std::vector<int>& events, Tick window) {
  int most = 0;
  for (std::size_t from = 0; from + static_cast<std::size_t>(window) <= events.size(); ++from)
    most = std::max(most, std::accumulate(events.begin() + static_cast<std::ptrdiff_t>(from),
                                          events.begin() + static_cast<std::ptrdiff_t>(from) + window, 0));
  return most;
}

RC_GTEST_PROP(Judge, FindsTheFullestWindowAtEveryPosition, ()) {
  const BurstStream stream = small_stream();
  const Tick window = *rc::gen::inRange<Tick>(1, 90);
  const int percent = *rc::gen::inRange(1, 101);
  Profile profile = lenient_profile();
  profile.limits.duty = {{static_cast<double>(window) / 1000, static_cast<double>(percent)}};
  const int most = most_in_any_window(levels(stream, window), window);
  const Judgement judgement = judge(stream, profile);
  const LimitResult& duty = judgement.limits[3];
  RC_ASSERT(duty.limit.starts_with("duty"));
  RC_ASSERT(std::abs(duty.worst - 100.0 * most / static_cast<double>(window)) < 1e-9);
  RC_ASSERT(duty.held == (most <= window * percent / 100));
  RC_ASSERT(judgement.violations.empty() == duty.held);
  // The place it tells is the end of a window that holds so much.
  const auto end = static_cast<Tick>(duty.at_s * 1e6 + 0.5);
  Tick there = 0;
  for (const Burst& burst : stream.bursts)
    there += std::max<Tick>(0, std::min(burst.end(), end) - std::max(burst.start, end - window));
  RC_ASSERT(there == most);
}

RC_GTEST_PROP(Judge, FindsTheBusiestHundredMilliseconds, ()) {
  BurstStream stream{1'000, 0, {}};  // a tick a millisecond: the window is 100 ticks
  Tick at = 0;
  for (int i = *rc::gen::inRange(1, 60); i > 0; --i) {
    at += *rc::gen::inRange<Tick>(1, 20);
    stream.bursts.push_back({at, 1});
    ++at;
  }
  stream.length = at;
  Profile profile = lenient_profile();
  profile.limits.gap_us = 0;
  const int allowed = *rc::gen::inRange(1, 40);
  profile.limits.break_rate_hz = allowed * 10;
  std::vector<int> starts(static_cast<std::size_t>(stream.length + 200), 0);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i)
    if (i == 0 || stream.bursts[i].start > stream.bursts[i - 1].end())
      starts[static_cast<std::size_t>(stream.bursts[i].start + 100)] = 1;
  const int most = most_in_any_window(starts, 100);
  const Judgement judgement = judge(stream, profile);
  const LimitResult& rate = result_of(judgement, "break rate");
  RC_ASSERT(rate.worst == 10.0 * most);
  RC_ASSERT(rate.held == (most <= allowed));
}

BurstStream played_again(const BurstStream& song, Tick rest) {
  BurstStream twice = song;
  const Tick again = song.length + rest;
  for (const Burst& burst : song.bursts) twice.bursts.push_back({burst.start + again, burst.on});
  twice.length = again + song.length;
  return twice;
}

RC_GTEST_PROP(Judge, TellsTheShortestRestBeforeARepeat, ()) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = *rc::gen::inRange(1, 20);
  profile.limits.duty = {
      {*rc::gen::inRange(2, 60) / 1000.0, static_cast<double>(*rc::gen::inRange(20, 100))}};
  const BurstStream song = small_stream();
  const Judgement judgement = judge(song, profile);
  RC_PRE(judgement.verdict == Verdict::within_limits);
  RC_ASSERT(judgement.rest_before_repeat_s.has_value());
  const auto rest = static_cast<Tick>(*judgement.rest_before_repeat_s * 1e6 + 0.5);
  RC_CLASSIFY(rest > 0, "needs a rest");
  BurstStream many = song;
  for (int i = 0; i < 3; ++i) many = played_again(many, rest);
  RC_ASSERT(judge(many, profile).verdict == Verdict::within_limits);
}

TEST(Judge, ARestOneMillisecondShorterWouldNotDo) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{100, 10}};  // 20 000 ticks in any 200 000
  const BurstStream song = stream_of({{0, 10'000}, {20'000, 10'000}}, 30'000);
  const double rest_s = judge(song, profile).rest_before_repeat_s.value();
  // All of one playing must have left the window before the next begins: 100 ms from the first start.
  EXPECT_NEAR(rest_s, 0.085, 0.001);
  const auto rest = static_cast<Tick>(rest_s * 2e6 + 0.5);
  EXPECT_EQ(judge(played_again(song, rest), profile).verdict, Verdict::within_limits);
  EXPECT_EQ(judge(played_again(song, rest - 2'000), profile).verdict, Verdict::outside_limits);
}

RC_GTEST_PROP(Judge, WhatIsWithinStaysWithinWhenABurstGoes, ()) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{0.05, static_cast<double>(*rc::gen::inRange(10, 100))}};
  BurstStream stream = small_stream();
  RC_PRE(judge(stream, profile).verdict == Verdict::within_limits);
  stream.bursts.erase(stream.bursts.begin() + *rc::gen::inRange<std::ptrdiff_t>(
                                                  0, static_cast<std::ptrdiff_t>(stream.bursts.size())));
  RC_ASSERT(judge(stream, profile).verdict == Verdict::within_limits);
}

}  // namespace
}  // namespace burstloom
