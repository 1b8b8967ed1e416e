#include "burstloom/listen/beats.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

// Quarter notes and eighths at a tempo, each up to `jitter_s` early or late.
Score played(double a_minute, double first_s, double jitter_s, unsigned seed) {
  std::mt19937 dice(seed);
  std::uniform_real_distribution<double> off(-jitter_s, jitter_s);
  Score score;
  for (int i = 0; i < 60; ++i) {
    const double beat = i % 3 == 2 ? i + 0.5 : i;
    const double at = first_s + beat * 60 / a_minute + off(dice);
    score.notes.push_back({.start_s = at, .end_s = at + 0.1, .key = 60, .velocity = 0.8});
  }
  score.length_s = score.notes.back().end_s + 1;
  return score;
}

TEST(Beats, AreFoundThroughJitter) {
  unsigned seed = 1;
  for (const double a_minute : {72.0, 84.0, 100.0, 120.0, 137.0}) {
    const auto beats = beats_of(played(a_minute, 0.31, 0.02, seed++));
    ASSERT_TRUE(beats) << a_minute;
    EXPECT_NEAR(beats->a_minute(), a_minute, 0.01 * a_minute);
    const double off = std::remainder(0.31 - beats->first_s, beats->period_s);
    EXPECT_LT(std::abs(off), 0.06) << a_minute;
  }
}

// Even eighths fit 84 and 168 alike; even quarters at 160 fit 80 as well.
TEST(Beats, OfTwoThatFitAreFrom71To141AMinute) {
  const auto even = [](double notes_a_minute) {
    Score score;
    for (int i = 0; i < 80; ++i) {
      const double at_s = 0.2 + i * 60 / notes_a_minute;
      score.notes.push_back({.start_s = at_s, .end_s = at_s + 0.1, .key = 60, .velocity = 0.8});
    }
    score.length_s = score.notes.back().end_s;
    return score;
  };
  for (const auto& [notes_a_minute, beats_a_minute] :
       std::vector<std::pair<double, double>>{{168, 84}, {240, 120}, {160, 80}, {100, 100}, {132, 132}}) {
    const auto beats = beats_of(even(notes_a_minute));
    ASSERT_TRUE(beats) << notes_a_minute;
    EXPECT_NEAR(beats->a_minute(), beats_a_minute, 1) << notes_a_minute;
  }
}

TEST(Beats, AreNotFoundWhereThereAreNone) {
  std::mt19937 dice(7);
  std::uniform_real_distribution<double> anywhere(0, 120);
  Score score;
  score.length_s = 120;
  for (int i = 0; i < 300; ++i) score.notes.push_back({.start_s = anywhere(dice), .end_s = 120, .key = 60});
  EXPECT_FALSE(beats_of(score));
  EXPECT_FALSE(beats_of(Score{}));
}

TEST(Beats, SnappedNotesBeginOnThem) {
  const Score score = played(120, 0.5, 0.02, 3);
  const Score straight = snapped(score, {.first_s = 0.5, .period_s = 0.5}, 2);
  for (const Note& note : straight.notes) {
    EXPECT_LT(std::abs(std::remainder(note.start_s - 0.5, 0.25)), 1e-9);
    EXPECT_NEAR(note.end_s - note.start_s, 0.1, 1e-9);
  }
  // What lies between two parts is left alone.
  Score between = score;
  between.notes = {{.start_s = 0.5 + 0.11, .end_s = 1, .key = 60}};
  EXPECT_EQ(snapped(between, {.first_s = 0.5, .period_s = 0.5}, 2).notes[0].start_s, 0.61);
  EXPECT_THROW((void)snapped(score, {}, 0), Error);
}

}  // namespace
}  // namespace burstloom
