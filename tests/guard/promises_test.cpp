// Promises 1 and 3 of the design, for random wishes and random limits.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <map>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "support/random_profiles.hpp"

namespace burstloom {
namespace {

void expect_within_limits(const Guarded& guarded, const Profile& profile) {
  const Judgement judgement = judge(guarded.stream, profile);
  for (const LimitResult& limit : judgement.limits)
    if (!limit.held)
      RC_FAIL(limit.limit + ": worst " + std::to_string(limit.worst) + ", allowed " +
              std::to_string(limit.allowed));
  RC_ASSERT(judgement.verdict == Verdict::within_limits);
}

// Every wanted burst is accounted for exactly once, and what the ledger says of it is what the stream holds.
void expect_ledger_adds_up(const Guarded& guarded, const std::vector<WantedBurst>& wanted) {
  const Ledger& ledger = guarded.ledger;
  RC_ASSERT(ledger.wanted == static_cast<std::int64_t>(wanted.size()));
  RC_ASSERT(ledger.wanted == ledger[Fate::kept] + ledger[Fate::lengthened] + ledger[Fate::shortened] +
                                 ledger[Fate::shifted] + ledger[Fate::dropped]);
  std::map<std::uint32_t, Burst> played;
  for (std::size_t i = 0; i < guarded.stream.bursts.size(); ++i)
    RC_ASSERT(played.emplace(guarded.wanted_of[i], guarded.stream.bursts[i]).second);
  std::map<std::uint32_t, LedgerEntry> told;
  for (const LedgerEntry& entry : ledger.entries) RC_ASSERT(told.emplace(entry.wanted, entry).second);
  for (std::uint32_t i = 0; i < wanted.size(); ++i) {
    const auto is_played = played.find(i);
    const auto is_told = told.find(i);
    if (is_told == told.end()) {  // kept
      RC_ASSERT(is_played != played.end());
      RC_ASSERT(is_played->second == (Burst{wanted[i].start, wanted[i].on}));
      continue;
    }
    const LedgerEntry& entry = is_told->second;
    RC_ASSERT(entry.causes != 0u);
    RC_ASSERT((entry.fate == Fate::dropped) == (is_played == played.end()));
    if (entry.fate == Fate::dropped) continue;
    RC_ASSERT(is_played->second == (Burst{entry.start, entry.on}));
    RC_ASSERT(entry.lengthened == (entry.on > wanted[i].on));
    RC_ASSERT(entry.shortened == (entry.on < wanted[i].on));
    RC_ASSERT(entry.shifted == (entry.start != wanted[i].start));
    RC_ASSERT(std::abs(entry.start - wanted[i].start) <= wanted[i].cap);
  }
}

Placing any_placing() {
  return *rc::gen::element(Placing::ahead, Placing::causal);
}

RC_GTEST_PROP(Guard, KeepsEveryLimitAndAccountsForEveryBurst, ()) {
  const auto tick_hz = *rc::gen::element<std::int64_t>(2'000'000, 2'000'000, 1'000'000, 100'000'000, 44'100);
  const Profile profile = testing::random_profile();
  const auto wanted = testing::random_wishes(tick_hz, *rc::gen::inRange<std::size_t>(0, 600));
  const Guarded guarded = place(wanted, profile, tick_hz, 0, any_placing());
  RC_CLASSIFY(guarded.stream.bursts.empty(), "nothing left");
  RC_CLASSIFY(guarded.ledger[Fate::shifted] > 0, "shifted");
  RC_CLASSIFY(guarded.ledger[Fate::shortened] > 0, "shortened");
  expect_within_limits(guarded, profile);
  expect_ledger_adds_up(guarded, wanted);
}

RC_GTEST_PROP(Guard, KeepsEveryLimitWithTenThousandBursts, ()) {
  const Profile profile = testing::random_profile();
  const auto wanted = testing::random_wishes(2'000'000, 10'000);
  const Guarded guarded = place(wanted, profile, 2'000'000, 0, any_placing());
  expect_within_limits(guarded, profile);
  expect_ledger_adds_up(guarded, wanted);
}

// What music asks for: trains of several rates, each with its own cap, at gaps that leave little room or
// none.
std::vector<WantedBurst> random_trains(Tick length) {
  std::vector<WantedBurst> wanted;
  const int voices = *rc::gen::inRange(2, 9);
  for (int voice = 0; voice < voices; ++voice) {
    const Tick period = *rc::gen::inRange<Tick>(800, 30'000), first = *rc::gen::inRange<Tick>(0, period);
    const auto weight = static_cast<std::uint32_t>(*rc::gen::inRange(1, 2000));
    const Tick on = *rc::gen::inRange<Tick>(10, 120);
    for (Tick at = first; at < length; at += period)
      wanted.push_back({.start = at,
                        .on = on,
                        .cap = period / 10,
                        .weight = weight,
                        .note = static_cast<std::uint32_t>(voice),
                        .voice = static_cast<std::uint16_t>(voice)});
  }
  std::stable_sort(wanted.begin(), wanted.end(),
                   [](const WantedBurst& a, const WantedBurst& b) { return a.start < b.start; });
  return wanted;
}

RC_GTEST_PROP(Guard, KeepsEveryLimitForTrainsThatCollide, ()) {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = *rc::gen::inRange(50, 900);
  profile.limits.duty = {{10, testing::between(1, 30)}};
  const auto wanted = random_trains(400'000);
  const Guarded guarded = place(wanted, profile, 2'000'000, 0, any_placing());
  RC_CLASSIFY(guarded.ledger[Fate::dropped] > 0, "dropped");
  expect_within_limits(guarded, profile);
  expect_ledger_adds_up(guarded, wanted);
}

Profile plain_profile() {
  Profile profile;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{1000, 100}};
  profile.drive.clock_tolerance_percent = 0;
  return profile;
}

TEST(Guard, TakesTenThousandBurstsAtOneMoment) {
  std::vector<WantedBurst> wanted(10'000, WantedBurst{.start = 1'000'000, .on = 80, .cap = 2'000});
  const Guarded guarded = place(wanted, plain_profile(), 2'000'000, 0);
  // Each takes 40 + 100 us; starts may lie from 1 ms before to 1 ms after: 14 spaces of 140 us, so 15 bursts.
  EXPECT_EQ(guarded.stream.bursts.size(), 15u);
  EXPECT_EQ(guarded.ledger[Fate::dropped], 10'000 - 15);
}

TEST(Guard, KeepsWhatIsWithinTheLimitsAsItIs) {
  std::vector<WantedBurst> wanted;
  for (Tick i = 0; i < 100; ++i) wanted.push_back({.start = i * 1000, .on = 80, .cap = 100});
  const Guarded guarded = place(wanted, plain_profile(), 2'000'000, 400'000);
  EXPECT_EQ(guarded.ledger[Fate::kept], 100);
  EXPECT_TRUE(guarded.ledger.entries.empty());
  EXPECT_EQ(guarded.stream.length, 400'000);
}

// The rule for short bursts (design, promise 3): raised if at least half of the minimum, else dropped.
TEST(Guard, RaisesWhatIsAtLeastHalfOfTheMinimumAndDropsTheRest) {
  const std::vector<WantedBurst> wanted = {{.start = 0, .on = 3},
                                           {.start = 10'000, .on = 4},
                                           {.start = 20'000, .on = 7},
                                           {.start = 30'000, .on = 8},
                                           {.start = 40'000, .on = 500}};
  const Guarded guarded = place(wanted, plain_profile(), 2'000'000, 0);
  EXPECT_EQ(guarded.stream.bursts,
            (std::vector<Burst>{{10'000, 8}, {20'000, 8}, {30'000, 8}, {40'000, 100}}));
  EXPECT_EQ(guarded.ledger[Fate::dropped], 1);
  EXPECT_EQ(guarded.ledger[Fate::lengthened], 2);
  EXPECT_EQ(guarded.ledger[Fate::kept], 1);
  EXPECT_EQ(guarded.ledger[Fate::shortened], 1);
  EXPECT_EQ(names_of(guarded.ledger.entries.back().causes, plain_profile().limits), "on-time max");
}

// A loud passage is turned down as a whole: no burst in it is dropped, neighbours differ little, and the
// level falls before the passage begins.
TEST(Guard, TurnsALoudPassageDownSmoothly) {
  Profile profile = plain_profile();
  profile.limits.duty = {{100, 2.0}};
  std::vector<WantedBurst> wanted;
  const auto passage = [&](int from_s, Tick on) {
    for (int i = 0; i < 880; ++i)
      wanted.push_back({.start = nearest_tick(from_s + i / 440.0, 2'000'000), .on = on, .cap = 100});
  };
  passage(0, 40);   // 20 us at 440 Hz: 0.9 %
  passage(2, 100);  // 50 us at 440 Hz: 2.2 %
  passage(4, 40);
  const Guarded guarded = place(wanted, profile, 2'000'000, 0);
  EXPECT_EQ(guarded.ledger[Fate::dropped], 0);
  Tick longest_step = 0;
  for (std::size_t i = 1; i < guarded.stream.bursts.size(); ++i) {
    const Burst &before = guarded.stream.bursts[i - 1], &now = guarded.stream.bursts[i];
    const bool at_the_seam = wanted[i].on != wanted[i - 1].on;
    if (!at_the_seam) longest_step = std::max(longest_step, std::abs(now.on - before.on));
  }
  EXPECT_LE(longest_step, 3);  // 1.5 us
  const Tick in_the_middle = guarded.stream.bursts[static_cast<std::size_t>(3 * 440)].on;
  EXPECT_GE(in_the_middle, 86);  // 2 % of 100 ms shared by 44 or 45 bursts is 44.4 us
  EXPECT_LE(in_the_middle, 90);
}

// Break rate binds: the light voice is thinned evenly, the heavy one keeps every burst.
TEST(Guard, ThinsTheLightestVoiceEvenly) {
  Profile profile = plain_profile();
  profile.limits.break_rate_hz = 600;
  std::vector<WantedBurst> wanted;
  for (int i = 0; i < 800; ++i) {
    wanted.push_back({.start = i * 5000, .on = 40, .cap = 500, .weight = 100, .note = 0, .voice = 0});
    wanted.push_back({.start = i * 5000 + 2500, .on = 40, .cap = 500, .weight = 10, .note = 1, .voice = 1});
  }
  const Guarded guarded = place(wanted, profile, 2'000'000, 0);
  std::int64_t heavy = 0, light = 0;
  Tick longest_hole = 0, last_light = 0;
  for (const std::uint32_t w : guarded.wanted_of) {
    (wanted[w].voice == 0 ? heavy : light) += 1;
    if (wanted[w].voice != 1) continue;
    longest_hole = std::max(longest_hole, wanted[w].start - last_light);
    last_light = wanted[w].start;
  }
  EXPECT_EQ(heavy, 800);                             // 400 bursts a second
  EXPECT_NEAR(static_cast<double>(light), 400, 20);  // 200 a second are left
  EXPECT_LE(longest_hole, 4 * 5000);
}

}  // namespace
}  // namespace burstloom
