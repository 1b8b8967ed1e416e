// Octaves are chosen for whole phrases.
#include <gtest/gtest.h>

#include "../../src/weave/range.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom::weave_detail {
namespace {

Score line_of(const std::vector<double>& keys, double rest_after = 0) {
  Score score;
  double at = 0;
  for (const double key : keys) {
    score.notes.push_back({at, at + 0.5, key, 0.8});
    at += 0.5 + rest_after;
  }
  return score;
}

using Octaves = std::vector<int>;

// A5 = 880 Hz, A6 = 1760 Hz (ISO 16).
TEST(Range, APhraseThatIsTooHighComesDownAsAWhole) {
  EXPECT_EQ(octaves_moved(line_of({69, 76, 81, 88, 69}), 30, 1000), (Octaves{-1, -1, -1, -1, -1}));
}

TEST(Range, WhatFitsStays) {
  EXPECT_EQ(octaves_moved(line_of({24, 69, 81}), 30, 881), (Octaves{0, 0, 0}));
  EXPECT_EQ(octaves_moved(line_of({81}), 30, 880), (Octaves{0}));  // right at the limit
}

TEST(Range, NotesUnderTheFloorComeUp) {
  EXPECT_EQ(octaves_moved(line_of({21, 24, 33}), 30, 1000), (Octaves{1, 1, 1}));  // A0 = 27.5 Hz
}

TEST(Range, ASilenceEndsAPhrase) {
  EXPECT_EQ(octaves_moved(line_of({69, 93}, 0.49), 30, 1000), (Octaves{-1, -1}));
  EXPECT_EQ(octaves_moved(line_of({69, 93}, 0.5), 30, 1000), (Octaves{0, -1}));
}

TEST(Range, OtherLinesAreNotMovedAlong) {
  Score score = line_of({69, 93, 69});
  score.notes[1].channel = 1;
  EXPECT_EQ(octaves_moved(score, 30, 1000), (Octaves{0, -1, 0}));
}

// Six octaves do not fit into five: the most fit with the lowest one left to itself.
TEST(Range, OnlyWhatDoesNotFitIsMovedNoteByNote) {
  EXPECT_EQ(octaves_moved(line_of({33, 69, 81, 93, 100}), 54, 1000), (Octaves{0, -2, -2, -2, -2}));
}

TEST(Range, BendCounts) {
  Score score = line_of({76});
  score.channels[0].bend = {{0, 12}};  // up to 1319 Hz
  EXPECT_EQ(octaves_moved(score, 30, 1000), (Octaves{-1}));
}

TEST(Range, TheLimitHoldsWhereTheRangeIsLessThanAnOctave) {
  for (int key = 0; key < 128; ++key) {
    const Score score = line_of({static_cast<double>(key)});
    EXPECT_LE(key_hz(key + 12 * octaves_moved(score, 30, 45).front()), 45 + 1e-6) << key;
  }
}

TEST(Range, PercussionStays) {
  Score score = line_of({127, 127});
  score.notes[0].part = Part::drums;
  EXPECT_EQ(octaves_moved(score, 30, 1000), (Octaves{0, -4}));
}

}  // namespace
}  // namespace burstloom::weave_detail
