// Violations as spans of time: all of them, however many there are.
#include <numeric>

#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::stream_of;

constexpr Tick kSecond = 2'000'000;

// Too long by 5 us where the on-time may be 5 us.
Judgement judged_at(const std::vector<Tick>& starts) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  std::vector<Burst> bursts;
  for (const Tick start : starts) bursts.push_back({start, 20});
  return judge(stream_of(bursts), profile);
}

std::int64_t counted(const Judgement& judgement) {
  return std::accumulate(judgement.spans.begin(), judgement.spans.end(), std::int64_t{0},
                         [](std::int64_t sum, const ViolationSpan& span) { return sum + span.count; });
}

TEST(Spans, ViolationsUpToATenthOfASecondApartAreOne) {
  const Judgement judgement = judged_at({0, kSecond / 10, kSecond / 5, kSecond / 5 + kSecond / 10 + 1});
  ASSERT_EQ(judgement.spans.size(), 2u);
  EXPECT_EQ(judgement.spans[0].limit, "on-time max");
  EXPECT_EQ(judgement.spans[0].unit, "us");
  EXPECT_EQ(judgement.spans[0].from_s, 0);
  EXPECT_EQ(judgement.spans[0].until_s, 0.2);
  EXPECT_EQ(judgement.spans[0].count, 3);
  EXPECT_EQ(judgement.spans[0].worst, 10);
  EXPECT_EQ(judgement.spans[0].allowed, 5);
  EXPECT_EQ(judgement.spans[1].from_s, judgement.spans[1].until_s);
  EXPECT_EQ(judgement.spans[1].count, 1);
}

TEST(Spans, HoldAllViolationsWhereTheListIsFull) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  profile.limits.gap_us = 10;
  std::vector<Burst> bursts;
  for (Tick i = 0; i < 3000; ++i) bursts.push_back({i * 30 - (i == 2999 ? 2 : 0), 20});
  const Judgement judgement = judge(stream_of(bursts), profile);
  ASSERT_EQ(judgement.spans.size(), 2u);
  EXPECT_EQ(judgement.spans[0].limit, "on-time max");
  EXPECT_EQ(judgement.spans[0].count, 3000);
  EXPECT_EQ(judgement.spans[1].limit, "gap");
  EXPECT_EQ(judgement.spans[1].count, 2999);
  EXPECT_EQ(judgement.spans[1].worst, 4);  // the least, and the very last
  EXPECT_EQ(judgement.spans[1].until_s, (2999 * 30 - 2) / 2e6);
}

TEST(Spans, StayFewHoweverManyViolationsThereAre) {
  std::vector<Tick> starts;
  for (Tick i = 0; i < 5000; ++i) starts.push_back(i * kSecond / 5);
  const Judgement judgement = judged_at(starts);
  EXPECT_EQ(judgement.spans.size(), 1u);  // all are as far apart, so all are merged at once
  EXPECT_EQ(counted(judgement), 5000);

  starts.clear();
  for (Tick i = 0, at = 0; i < 2400; ++i, at += i % 3 == 0 ? 2 * kSecond : kSecond / 5) starts.push_back(at);
  const Judgement uneven = judged_at(starts);
  EXPECT_LE(uneven.spans.size(), kSpansListed);
  EXPECT_GT(uneven.spans.size(), 1u);
  EXPECT_EQ(counted(uneven), 2400);
  EXPECT_EQ(uneven.spans.front().from_s, 0);
  EXPECT_EQ(uneven.spans.back().until_s, static_cast<double>(starts.back()) / 2e6);
  for (std::size_t i = 1; i < uneven.spans.size(); ++i)
    EXPECT_GT(uneven.spans[i].from_s, uneven.spans[i - 1].until_s);
}

TEST(Spans, LastAsLongAsWindowsArePastTheLimit) {
  Profile profile = lenient_profile();
  profile.limits.duty = {{1, 50}};  // 500 us of any millisecond
  std::vector<Burst> bursts;
  for (Tick i = 0; i < 10; ++i) bursts.push_back({i * 1000, 800});  // 400 of 500 us, for 5 ms
  const Judgement judgement = judge(stream_of(bursts), profile);
  EXPECT_EQ(judgement.violations_in_all, 1);
  ASSERT_EQ(judgement.spans.size(), 1u);
  EXPECT_EQ(judgement.spans[0].from_s, (1000 + 800) / 2e6);  // the first window that is too full
  EXPECT_EQ(judgement.spans[0].until_s, (9 * 1000 + 800) / 2e6);
  EXPECT_NEAR(judgement.spans[0].worst, 80, 1e-9);
  EXPECT_EQ(judgement.spans[0].count, 1);
}

}  // namespace
}  // namespace burstloom
