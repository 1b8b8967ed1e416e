// Who sounds, who gives way, and that the count of notes adds up.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "../../src/weave/parts.hpp"
#include "../../src/weave/range.hpp"
#include "../../src/weave/voices.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom::weave_detail {
namespace {

constexpr double kNoFold = 1e5;

Shared share_voices(const Score& score, int voices, double highest_hz) {
  return weave_detail::share_voices(score, voices, parts_of(score),
                                    octaves_moved(score, kFloorHz, highest_hz));
}

std::ptrdiff_t count_of(const Shared& shared, NoteFateKind kind) {
  return std::count_if(shared.fates.begin(), shared.fates.end(),
                       [kind](const NoteFate& fate) { return fate.what == kind; });
}

Score score_of_notes(std::vector<Note> notes) {
  Score score;
  score.notes = std::move(notes);
  return score;
}

// Keys and ends of what sounds, in order of start.
std::vector<std::pair<double, double>> heard(const Shared& shared) {
  std::vector<std::pair<double, double>> all;
  for (const Sounding& it : shared.sounding) all.emplace_back(it.key, it.end_s);
  return all;
}
using Heard = std::vector<std::pair<double, double>>;

TEST(Voices, TheMelodyAndTheBassOutlastInnerVoices) {
  const Score score = score_of_notes({{0, 4, 42, .8}, {0, 4, 59, .8}, {0, 4, 64, .9}, {1, 4, 77, .5}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{42, 4}, {59, 1}, {64, 4}, {77, 4}}));
  EXPECT_EQ(shared.fates, (std::vector<NoteFate>{{0, 0, 4, NoteFateKind::played, 0, "", {}},
                                                 {1, 0, 1, NoteFateKind::played, 0, "", {}},
                                                 {1, 1, 4, NoteFateKind::stolen, 0, "no voice left", 3},
                                                 {2, 0, 4, NoteFateKind::played, 0, "", {}},
                                                 {3, 1, 4, NoteFateKind::played, 0, "", {}}}));
  EXPECT_EQ(shared.sounding[3].part, Part::lead);
  EXPECT_EQ(shared.sounding[0].part, Part::bass);
}

TEST(Voices, ADoublingGoesFirst) {
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .3}, {0, 4, 76, .5}, {1, 4, 76, .9}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {60, 4}, {76, 1}, {76, 4}}));
}

TEST(Voices, AUnisonGoesBeforeASofterInnerVoice) {
  const Score score =
      score_of_notes({{0, 4, 40, .8}, {0, 4, 57, .9}, {0, 4, 57, .7}, {0, 4, 60, .3}, {0, 4, 75, .8}});
  const Shared shared = share_voices(score, 4, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {57, 4}, {60, 4}, {75, 4}}));
  EXPECT_EQ(shared.sounding[1].note, 1u);
}

TEST(Voices, AnOctaveDoublingGoesBeforeASofterInnerVoice) {
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 57, .3}, {0, 4, 64, .9}, {0, 4, 76, .8}});
  EXPECT_EQ(heard(share_voices(score, 3, kNoFold)), (Heard{{40, 4}, {57, 4}, {76, 4}}));
}

TEST(Voices, AStatedPartOverridesTheGuess) {
  Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .2}, {0, 4, 76, .8}});
  score.notes[1].part = Part::lead;
  EXPECT_EQ(heard(share_voices(score, 1, kNoFold)), (Heard{{60, 4}}));
  score.notes[0].part = Part::inner;
  score.notes[2].part = Part::bass;
  EXPECT_EQ(heard(share_voices(score, 2, kNoFold)), (Heard{{60, 4}, {76, 4}}));
}

// A melody on channel 0; on channel 1 long notes that lie above it now and then.
TEST(Voices, TheMelodyIsALineAndNotWhateverIsHighest) {
  Score score;
  for (int i = 0; i < 12; ++i) score.notes.push_back({i * 0.5, i * 0.5 + 0.5, 67.0 + i % 3, 0.8});
  score.notes.push_back({2.25, 4, 79, 0.8, 1});
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  const Shared shared = share_voices(score, 1, kNoFold);
  EXPECT_EQ(shared.sounding.size(), 12u);
  for (const Sounding& it : shared.sounding) EXPECT_EQ(score.notes[it.note].channel, 0);
}

TEST(Voices, AShortRestOfTheMelodyGivesNobodyElseTheLead) {
  Score score = score_of_notes({{0, .9, 72, .8}, {.95, 2, 50, .8, 1}, {1, 2, 74, .8}, {2.5, 3, 52, .8, 1}});
  const std::vector<Part> parts = parts_of(score);
  EXPECT_NE(parts[1], Part::lead);
  EXPECT_EQ(parts[2], Part::lead);
  EXPECT_EQ(parts[3], Part::lead);  // half a second later the other line has it
}

TEST(Voices, WhatWouldSoundForAnInstantIsNotBegun) {
  const Score score = score_of_notes({{0, 2, 60, .8}, {0.02, 2, 72, .8}});
  const Shared shared = share_voices(score, 1, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{72, 2}}));
  EXPECT_EQ(shared.fates.front(), (NoteFate{0, 0, 2, NoteFateKind::stolen, 0, "no voice left", 1}));
}

TEST(Voices, ANewcomerInTheMiddleGivesWayWhenItIsTheSoftest) {
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .8}, {0, 4, 76, .8}, {1, 4, 62, .2}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {60, 4}, {76, 4}}));
  EXPECT_EQ(count_of(shared, NoteFateKind::stolen), 1);
}

TEST(Voices, WithOneVoiceTheUpperLineIsLeft) {
  const Score score = score_of_notes({{0, 2, 48, 1}, {0.5, 1, 72, .3}, {1.5, 2, 50, 1}});
  const Shared shared = share_voices(score, 1, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{48, 0.5}, {72, 1}, {50, 2}}));
}

TEST(Voices, ANoteThatEndsMakesRoomForOneThatStartsThen) {
  const Score score = score_of_notes({{0, 1, 60, 1}, {1, 2, 62, 1}});
  EXPECT_EQ(count_of(share_voices(score, 1, kNoFold), NoteFateKind::stolen), 0);
}

TEST(Voices, NotesWithoutLengthOrVelocityAreSkipped) {
  const Score score = score_of_notes({{0, 0, 60, 1}, {0, 1, 62, 0}, {0, 1, 64, 1}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(count_of(shared, NoteFateKind::skipped), 2);
  EXPECT_EQ(heard(shared), (Heard{{64, 1}}));
}

RC_GTEST_PROP(Voices, NeverMoreThanThereAreAndNothingFlickers, ()) {
  Score score;
  for (int i = *rc::gen::inRange(0, 80); i > 0; --i) {
    const double start = *rc::gen::inRange(0, 100) / 10.0;
    score.notes.push_back({start, start + *rc::gen::inRange(0, 30) / 10.0,
                           static_cast<double>(*rc::gen::inRange(30, 90)), *rc::gen::inRange(0, 5) / 4.0});
  }
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  const int voices = *rc::gen::inRange(1, 7);
  const Shared shared = share_voices(score, voices, kNoFold);
  std::vector<int> times_heard(score.notes.size(), 0);
  std::vector<NoteFate> fates = shared.fates;
  std::stable_sort(fates.begin(), fates.end(),
                   [](const NoteFate& a, const NoteFate& b) { return a.note < b.note; });
  for (const Sounding& it : shared.sounding) {
    RC_ASSERT(it.start_s == score.notes[it.note].start_s);  // whoever went does not come back
    RC_ASSERT(it.end_s <= score.notes[it.note].end_s);
    RC_ASSERT(it.end_s - it.start_s >= std::min(kShortestSound_s, score.notes[it.note].end_s - it.start_s));
    RC_ASSERT(it.voice >= 0);
    RC_ASSERT(it.voice < voices);
    ++times_heard[it.note];
    int at_once = 0;
    for (const Sounding& other : shared.sounding) {
      const bool together = other.start_s <= it.start_s && other.end_s > it.start_s;
      at_once += together;
      RC_ASSERT(!(together && &other != &it && other.voice == it.voice));
    }
    RC_ASSERT(at_once <= voices);
  }
  // What is told of each note covers its time without a hole, once.
  for (std::size_t i = 0, k = 0; i < score.notes.size(); ++i) {
    RC_ASSERT(times_heard[i] <= 1);
    double until = score.notes[i].start_s;
    for (; k < fates.size() && fates[k].note == i; ++k) {
      RC_ASSERT(fates[k].from_s == until);
      until = fates[k].to_s;
      RC_ASSERT((fates[k].what == NoteFateKind::stolen) == fates[k].by.has_value());
    }
    RC_ASSERT(until == score.notes[i].end_s);
  }
}

}  // namespace
}  // namespace burstloom::weave_detail
