// Who sounds, who gives way, and that the count of notes adds up.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "../../src/weave/voices.hpp"

namespace burstloom::weave_detail {
namespace {

constexpr double kNoFold = 1e5;

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
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .8}, {0, 4, 64, .9}, {1, 4, 76, .5}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {60, 1}, {64, 4}, {76, 4}}));
  EXPECT_EQ(shared.stolen, 1);
  EXPECT_TRUE(shared.sounding[1].stolen);
  EXPECT_EQ(shared.sounding[3].role, Role::lead);
  EXPECT_EQ(shared.sounding[0].role, Role::bass);
}

TEST(Voices, ADoublingGoesFirst) {
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .3}, {0, 4, 76, .5}, {1, 4, 76, .9}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {60, 4}, {76, 1}, {76, 4}}));
}

TEST(Voices, ANewcomerInTheMiddleGivesWayWhenItIsTheSoftest) {
  const Score score = score_of_notes({{0, 4, 40, .8}, {0, 4, 60, .8}, {0, 4, 76, .8}, {1, 4, 62, .2}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{40, 4}, {60, 4}, {76, 4}}));
  EXPECT_EQ(shared.stolen, 1);
}

TEST(Voices, WithOneVoiceTheUpperLineIsLeft) {
  const Score score = score_of_notes({{0, 2, 48, 1}, {0.5, 1, 72, .3}, {1.5, 2, 50, 1}});
  const Shared shared = share_voices(score, 1, kNoFold);
  EXPECT_EQ(heard(shared), (Heard{{48, 0.5}, {72, 1}, {50, 2}}));
}

TEST(Voices, ANoteThatEndsMakesRoomForOneThatStartsThen) {
  const Score score = score_of_notes({{0, 1, 60, 1}, {1, 2, 62, 1}});
  EXPECT_EQ(share_voices(score, 1, kNoFold).stolen, 0);
}

TEST(Voices, NotesWithoutLengthOrVelocityAreSkipped) {
  const Score score = score_of_notes({{0, 0, 60, 1}, {0, 1, 62, 0}, {0, 1, 64, 1}});
  const Shared shared = share_voices(score, 3, kNoFold);
  EXPECT_EQ(shared.skipped, 2);
  EXPECT_EQ(heard(shared), (Heard{{64, 1}}));
}

TEST(Voices, NotesTooHighAreFoldedByOctaves) {
  const Shared shared = share_voices(score_of_notes({{0, 1, 69, 1}, {1, 2, 96, 1}}), 3, 450);
  EXPECT_EQ(heard(shared), (Heard{{69, 1}, {60, 2}}));  // 2093 Hz, by three octaves to 261.6 Hz
  EXPECT_FALSE(shared.sounding[0].folded);
  EXPECT_TRUE(shared.sounding[1].folded);
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
  for (const Sounding& it : shared.sounding) {
    RC_ASSERT(it.start_s == score.notes[it.note].start_s);  // whoever went does not come back
    RC_ASSERT(it.end_s <= score.notes[it.note].end_s);
    RC_ASSERT(it.stolen == (it.end_s < score.notes[it.note].end_s));
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
  std::int64_t silent = 0;
  for (const int times : times_heard) {
    RC_ASSERT(times <= 1);
    silent += times == 0;
  }
  const auto cut = std::count_if(shared.sounding.begin(), shared.sounding.end(),
                                 [](const Sounding& it) { return it.stolen; });
  RC_ASSERT(silent == shared.skipped + shared.stolen - cut);
}

}  // namespace
}  // namespace burstloom::weave_detail
