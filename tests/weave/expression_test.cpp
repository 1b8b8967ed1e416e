// What controllers, envelopes and chords do to the bursts of a note.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <numbers>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/weave/weave.hpp"
#include "plain.hpp"

namespace burstloom {
namespace {

using testing::held;
using testing::plain_profile;

std::vector<WantedBurst> bursts_of(const Score& score, const Profile& profile = plain_profile()) {
  return wanted_from_score(score, profile, {.voices = 4}).bursts;
}

double hz_between(const WantedBurst& a, const WantedBurst& b) {
  return 2e6 / static_cast<double>(b.start - a.start);
}

TEST(Expression, BendChangesTheRateWithoutAJump) {
  Score score = held(69, 2);
  score.channels[0].bend = {{0.5, -2}, {1.5, 12}};
  const auto bursts = bursts_of(score);
  // Semitones of equal temperament: 440 * 2^(-2/12) = 391.995 Hz; an octave up is 880 Hz.
  for (std::size_t i = 1; i < bursts.size(); ++i) {
    const double at_s =
        (static_cast<double>(bursts[i - 1].start) + static_cast<double>(bursts[i].start)) / 4e6;
    const double expected = at_s < 0.5 ? 440 : at_s < 1.5 ? 391.99544 : 880;
    if (std::abs(at_s - 0.5) > 0.003 && std::abs(at_s - 1.5) > 0.003) {
      EXPECT_NEAR(1200 * std::log2(hz_between(bursts[i - 1], bursts[i]) / expected), 0, 1) << at_s;
    }
    EXPECT_GT(hz_between(bursts[i - 1], bursts[i]), 391);
    EXPECT_LT(hz_between(bursts[i - 1], bursts[i]), 881);
  }
  EXPECT_NEAR(static_cast<double>(bursts.size()), 0.5 * 440 + 391.99544 + 0.5 * 880, 2);
}

TEST(Expression, VibratoSwingsByItsDepthAtItsRate) {
  Score score = held(69, 2);
  score.channels[0].vibrato = {{0, 0.5}};
  const auto bursts = bursts_of(score);
  double highest = 0, lowest = 1e9;
  int rising_through_centre = 0;
  bool was_below = false;
  for (std::size_t i = 1; i < bursts.size(); ++i) {
    const double semitones = 12 * std::log2(hz_between(bursts[i - 1], bursts[i]) / 440);
    highest = std::max(highest, semitones);
    lowest = std::min(lowest, semitones);
    if (semitones < -0.1) was_below = true;
    if (was_below && semitones > 0.1) ++rising_through_centre, was_below = false;
  }
  EXPECT_NEAR(highest, 0.5, 0.02);
  EXPECT_NEAR(lowest, -0.5, 0.02);
  EXPECT_NEAR(rising_through_centre, 2 * kVibratoHz, 1);
  // Up and down by half a semitone leave the mean of cosh-like growth: I0(0.5 ln2 / 12) - 1 is 0.02 %.
  EXPECT_NEAR(static_cast<double>(bursts.size()), 880, 2);
}

// 40 log10 law: half the level is a sixteenth of the energy; with energy as the cube of the on-time that is
// 16^(-1/3) of it.
TEST(Expression, OnTimeFollowsTheGainWhileTheNoteSounds) {
  Score score = held(57, 3);
  score.channels[0].gain = {{1, 0.5}, {2, 0}};
  for (const WantedBurst& burst : bursts_of(score)) {
    const double at_s = static_cast<double>(burst.start) / 2e6;
    EXPECT_LT(at_s, 2.0);
    EXPECT_NEAR(static_cast<double>(burst.on), at_s < 1 ? 100 : 100 * std::pow(1 / 16.0, 1 / 3.0), 1) << at_s;
  }
}

TEST(Expression, OnTimeFollowsTheCoilsEnergyTable) {
  const Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/half-bridge-325v.toml");
  const auto table = current_table(profile);
  const double longest_us = static_cast<double>(on_time_for(1, 220, profile, 100'000'000)) / 100;
  for (const double velocity : {0.6, 0.7, 0.8, 0.9}) {
    const double us = static_cast<double>(on_time_for(velocity, 220, profile, 100'000'000)) / 100;
    EXPECT_NEAR(table->figures(us).energy_j / table->figures(longest_us).energy_j, std::pow(velocity, 4),
                0.01);
  }
  for (double v = 0; v < 1; v += 0.01)
    EXPECT_LE(on_time_for(v, 300, profile, 2'000'000), on_time_for(v + 0.01, 300, profile, 2'000'000));
}

TEST(Expression, APluckedNoteDiesAwayAndEnds) {
  Score score = held(69, 30);
  score.notes[0].envelope = Envelope::plucked;
  const auto bursts = bursts_of(score);
  ASSERT_FALSE(bursts.empty());
  const double tau = plucked_decay_s(69);
  const double alone = static_cast<double>(bursts.front().on);
  for (const WantedBurst& burst : bursts) {
    const double at_s = static_cast<double>(burst.start) / 2e6;
    const double asked = alone * std::exp(-2 * at_s / tau / 3);  // energy as the cube of the on-time
    EXPECT_NEAR(static_cast<double>(burst.on), std::max(8.0, asked), 1) << at_s;
  }
  // 24 dB down and at the shortest burst: (50/4 * (220/440)^(1/3))^3 = 29.9 dB of energy.
  EXPECT_NEAR(static_cast<double>(bursts.back().start) / 2e6, tau / 2 * std::log(std::pow(12.5, 3) / 2),
              0.02);
}

TEST(Expression, HighStringsDieFaster) {
  EXPECT_DOUBLE_EQ(plucked_decay_s(69), 1.2);
  EXPECT_DOUBLE_EQ(plucked_decay_s(93), 0.6);
  EXPECT_DOUBLE_EQ(plucked_decay_s(45), 2.4);
  EXPECT_DOUBLE_EQ(plucked_decay_s(0), 4.0);
  EXPECT_DOUBLE_EQ(plucked_decay_s(150), 0.2);
}

// Energy a second of each note, energy as the cube of the on-time, the longest burst at 220 Hz as the unit.
std::vector<double> powers(const Score& score) {
  std::vector<double> power(score.notes.size(), 0.0);
  for (const WantedBurst& burst : bursts_of(score))
    power[burst.note] += std::pow(static_cast<double>(burst.on) / 100, 3);
  for (double& p : power) p /= 220 * score.length_s;
  return power;
}

TEST(Expression, AChordIsNotLouderThanItsMelodyAlone) {
  Score chord;
  chord.notes = {{0, 2, 48, 1}, {0, 2, 64, 1}, {0, 2, 67, 1}, {0, 2, 74, 1}};
  chord.length_s = 2;
  const auto power = powers(chord);
  const double together = power[0] + power[1] + power[2] + power[3];
  EXPECT_LE(together, powers(held(74, 2))[0] * 1.02);
  EXPECT_GT(together, powers(held(74, 2))[0] * 0.8);
  EXPECT_GT(power[3], power[0]);
  EXPECT_GT(power[3], power[1] * 3);
  EXPECT_GT(power[3], power[2] * 3);
}

// A third of the power beside the melody (shares 2 and 4); nearly all of it once the melody's channel is
// soft, though no note has come or gone: on-times as the cube root of 3.
TEST(Expression, WhatOneNoteGivesUpTheOthersGetAtOnce) {
  Score chord;
  chord.notes = {{0, 2, 60, 1, 0}, {0, 2, 72, 1, 1}};
  chord.length_s = 2;
  chord.channels[1].gain = {{1, 0.2}};
  double before = 0, after = 0;
  for (const WantedBurst& burst : bursts_of(chord))
    if (burst.note == 0) {
      const double at_s = static_cast<double>(burst.start) / 2e6, on = static_cast<double>(burst.on);
      if (at_s < 0.99) before = on;
      if (at_s > 1.01 && after == 0) after = on;
    }
  EXPECT_NEAR(after / before, std::cbrt(3.0), 0.05);
}

TEST(Expression, TheBassGetsNoLongerBurstsThanTheMelody) {
  Score score;
  score.notes = {{0, 2, 33, 1}, {0, 2, 57, 1}};  // 55 and 220 Hz
  score.length_s = 2;
  const auto power = powers(score);
  EXPECT_LT(power[0], power[1] / 2);
}

TEST(Expression, TheSameScoreGivesTheSameBursts) {
  Score score = held(60, 3, 0.7);
  score.notes.push_back({0.1, 2, 67, 0.8, 1, 0, Envelope::plucked});
  score.notes.push_back({0.5, 0.6, 38, 0.9, 9, 0, Envelope::held, Part::drums});
  score.channels[1].vibrato = {{0.2, 0.3}};
  EXPECT_EQ(bursts_of(score), bursts_of(score));
}

StepCurve any_curve(double low, double high) {
  StepCurve curve;
  for (int i = *rc::gen::inRange(0, 6); i > 0; --i)
    curve.push_back(
        {*rc::gen::inRange(0, 4000) / 1000.0, low + (high - low) * *rc::gen::inRange(0, 101) / 100.0});
  std::sort(curve.begin(), curve.end(), [](const Step& a, const Step& b) { return a.at_s < b.at_s; });
  return curve;
}

RC_GTEST_PROP(Expression, WhateverTheControllersDoBurstsComeInOrderAndInRange, ()) {
  Score score;
  for (ChannelCurves& curves : score.channels)
    curves = {any_curve(-48, 48), any_curve(0, 1), any_curve(0, 2)};
  for (int i = *rc::gen::inRange(0, 40); i > 0; --i) {
    const double start = *rc::gen::inRange(0, 3000) / 1000.0;
    score.notes.push_back(
        {start, start + *rc::gen::inRange(0, 800) / 1000.0, *rc::gen::inRange(0, 1280) / 10.0,
         *rc::gen::inRange(0, 101) / 100.0, *rc::gen::inRange(0, 16), *rc::gen::inRange(0, 3),
         static_cast<Envelope>(*rc::gen::inRange(0, 2)), static_cast<Part>(*rc::gen::inRange(0, 5))});
  }
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  score.length_s = 4;
  const int voices = *rc::gen::inRange(1, 17);
  Profile profile = plain_profile();
  profile.limits.break_rate_hz = *rc::gen::inRange(20, 3000);
  const Wanted wanted = wanted_from_score(score, profile, {.voices = voices});
  for (std::size_t i = 0; i < wanted.bursts.size(); ++i) {
    const WantedBurst& burst = wanted.bursts[i];
    if (i > 0) RC_ASSERT(wanted.bursts[i - 1].start <= burst.start);
    RC_ASSERT(burst.on >= 8);
    RC_ASSERT(burst.on <= 100);
    RC_ASSERT(burst.weight >= 1u);
    RC_ASSERT(burst.weight <= kHeaviest);
    RC_ASSERT((burst.voice == voices) == (score.notes[burst.note].part == Part::drums));
  }
  std::vector<int> told(score.notes.size(), 0);
  for (const NoteFate& fate : wanted.fates) ++told[fate.note];
  for (const int times : told) RC_ASSERT(times == 1 || times == 2);
}

}  // namespace
}  // namespace burstloom
