// Percussion as short gestures.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "burstloom/weave/weave.hpp"
#include "plain.hpp"

namespace burstloom {
namespace {

using testing::plain_profile;

Score strokes(const std::vector<std::pair<double, double>>& at_and_key) {
  Score score;
  for (const auto& [at_s, key] : at_and_key)
    score.notes.push_back({at_s, at_s + 0.1, key, 0.8, 9, 0, Envelope::held, Part::drums});
  score.length_s = 5;
  return score;
}

Wanted woven(const Score& score, const Profile& profile = plain_profile()) {
  return wanted_from_score(score, profile, {});
}

double seconds(const Wanted& wanted) {
  return static_cast<double>(wanted.bursts.back().start - wanted.bursts.front().start) / 2e6;
}

// The largest gap between starts over the smallest.
double unevenness(const Wanted& wanted) {
  Tick least = kEndOfTime, most = 0;
  for (std::size_t i = 1; i < wanted.bursts.size(); ++i) {
    const Tick gap = wanted.bursts[i].start - wanted.bursts[i - 1].start;
    least = std::min(least, gap);
    most = std::max(most, gap);
  }
  return static_cast<double>(most) / static_cast<double>(least);
}

double density(const Wanted& wanted) {
  return static_cast<double>(wanted.bursts.size() - 1) / seconds(wanted);
}

TEST(Drums, AreToldApartByLengthRateAndEvenness) {
  const Wanted kick = woven(strokes({{1, 36}})), snare = woven(strokes({{1, 38}})),
               hat = woven(strokes({{1, 42}})), open = woven(strokes({{1, 46}})),
               tom = woven(strokes({{1, 45}})), crash = woven(strokes({{1, 49}})),
               bell = woven(strokes({{1, 56}}));
  EXPECT_NEAR(seconds(kick), 0.09, 0.02);
  EXPECT_NEAR(seconds(snare), 0.12, 0.01);
  EXPECT_NEAR(seconds(hat), 0.035, 0.003);
  EXPECT_NEAR(seconds(open), 0.22, 0.005);
  EXPECT_NEAR(seconds(tom), 0.15, 0.012);
  EXPECT_NEAR(seconds(crash), 0.5, 0.01);
  EXPECT_LT(density(kick), density(tom) * 1.3);
  EXPECT_LT(density(tom), density(snare) / 3);
  EXPECT_LT(density(snare), density(hat) / 1.5);
  EXPECT_NEAR(unevenness(bell), 1, 0.01);
  EXPECT_GT(unevenness(snare), 2.5);
  EXPECT_GT(unevenness(hat), 2.5);
  // The kick falls from 220 towards 50 Hz: its gaps grow all the way.
  for (std::size_t i = 2; i < kick.bursts.size(); ++i)
    EXPECT_GT(kick.bursts[i].start - kick.bursts[i - 1].start,
              kick.bursts[i - 1].start - kick.bursts[i - 2].start);
}

TEST(Drums, KeepTheGapAndTheBreakRateByThemselves) {
  Profile profile = plain_profile();
  profile.limits.break_rate_hz = 600;
  profile.limits.gap_us = 900;
  for (int key = 35; key <= 81; ++key) {
    const Wanted wanted = woven(strokes({{1, key}, {1.02, 42}, {1.04, 38}}), profile);
    ASSERT_FALSE(wanted.bursts.empty());
    for (std::size_t i = 0; i < wanted.bursts.size(); ++i) {
      EXPECT_GE(wanted.bursts[i].on, 8);
      EXPECT_LE(wanted.bursts[i].on, 100);
      if (i == 0) continue;
      EXPECT_GE(wanted.bursts[i].start, wanted.bursts[i - 1].start + wanted.bursts[i - 1].on + 1800) << key;
    }
    EXPECT_LE(density(wanted), 620) << key;
  }
}

TEST(Drums, SoundInAVoiceOfTheirOwnAndWeighLessThanTheMelody) {
  Score score = strokes({{0.5, 36}, {1, 38}});
  for (const double key : {76.0, 60.0, 40.0}) score.notes.push_back({0.5, 2, key, 0.3});
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  const Wanted wanted = woven(score);
  EXPECT_EQ(wanted.notes.played, 5);
  EXPECT_EQ(wanted.notes.stolen, 0);
  std::uint32_t drums = 0, lead = 0;
  for (const WantedBurst& burst : wanted.bursts) {
    const Note& note = score.notes[burst.note];
    if (note.part == Part::drums) {
      EXPECT_EQ(burst.voice, 3);
      drums = std::max(drums, burst.weight);
    } else {
      EXPECT_LT(burst.voice, 3);
      if (note.key == 76) lead = burst.weight;
    }
  }
  EXPECT_GT(lead, drums);
  EXPECT_GT(drums, 0u);
}

TEST(Drums, AreMergedInOrderOfTimeAndComeAfterANoteOfTheSameMoment) {
  Score score = strokes({{0.2, 38}, {0.5, 36}, {3, 46}});
  score.notes.insert(score.notes.begin() + 1, {0.5, 2, 60, 0.8});
  const auto bursts = woven(score).bursts;
  EXPECT_TRUE(std::is_sorted(bursts.begin(), bursts.end(),
                             [](const WantedBurst& a, const WantedBurst& b) { return a.start < b.start; }));
  std::vector<std::uint32_t> at_once;
  for (const WantedBurst& burst : bursts)
    if (burst.start == 1'000'000) at_once.push_back(burst.note);
  EXPECT_EQ(at_once, (std::vector<std::uint32_t>{1, 2}));
  for (std::uint32_t note = 0; note < 4; ++note)
    EXPECT_TRUE(std::any_of(bursts.begin(), bursts.end(), [&](const auto& it) { return it.note == note; }));
}

TEST(Drums, OneStrokeAtATimeAndEveryLossIsTold) {
  const Wanted together = woven(strokes({{1, 36}, {1, 42}}));
  ASSERT_EQ(together.fates.size(), 2u);
  EXPECT_EQ(together.fates[0].what, NoteFateKind::played);
  EXPECT_EQ(together.fates[1].what, NoteFateKind::stolen);
  EXPECT_EQ(together.fates[1].by, 0u);
  const Wanted after = woven(strokes({{1, 49}, {1.4, 42}}));  // late in the crash the hat has its turn
  EXPECT_EQ(after.notes.played, 2);
  EXPECT_EQ(after.notes.stolen, 1);
  EXPECT_DOUBLE_EQ(after.fates[1].from_s, 1.4);
  const Wanted early = woven(strokes({{1, 49}, {1.1, 42}}));
  EXPECT_EQ(early.notes.played, 1);
}

TEST(Drums, SoundsOutsideTheMapAreSkipped) {
  const Wanted wanted = woven(strokes({{1, 34}, {2, 82}, {3, 35}, {4, 81}}));
  EXPECT_EQ(wanted.notes.skipped, 2);
  EXPECT_EQ(wanted.notes.played, 2);
}

TEST(Drums, ASofterStrokeHasShorterBursts) {
  Score score = strokes({{1, 38}});
  const Tick loud = woven(score).bursts.front().on;
  score.channels[9].gain = {{0, 0.6}};
  EXPECT_LT(woven(score).bursts.front().on, loud);
  score.channels[9].gain = {{0, 0}};
  EXPECT_TRUE(woven(score).bursts.empty());
}

}  // namespace
}  // namespace burstloom
