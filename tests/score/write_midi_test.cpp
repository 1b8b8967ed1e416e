// Scores written as MIDI and read again.
#include "burstloom/score/write_midi.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/common/error.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom {
namespace {

constexpr double kTick_s = 0.5 / 960;

Score read(const Bytes& bytes) {
  return score_of(parse_midi(bytes, "written.mid"), "none");
}

TEST(WriteMidi, ComesBackWithinATick) {
  Score score;
  score.title = "Heard";
  score.length_s = 3.2;
  score.notes = {{.start_s = 0.1, .end_s = 1, .key = 69, .velocity = 100 / 127.0, .channel = 0},
                 {.start_s = 0.1, .end_s = 0.6, .key = 36, .velocity = 1, .channel = 3, .part = Part::drums},
                 {.start_s = 1, .end_s = 2, .key = 69, .velocity = 0.5, .channel = 0}};
  const Score again = read(to_midi(score));
  EXPECT_EQ(again.title, "Heard");
  EXPECT_NEAR(again.length_s, 3.2, kTick_s);
  ASSERT_EQ(again.notes.size(), 3u);
  EXPECT_EQ(again.notes[0].part, Part::drums);
  EXPECT_EQ(again.notes[0].channel, 9);
  EXPECT_NEAR(again.notes[1].start_s, 0.1, kTick_s);
  EXPECT_NEAR(again.notes[1].end_s, 1, kTick_s);
  EXPECT_EQ(again.notes[1].velocity, 100 / 127.0);
  EXPECT_TRUE(again.remarks.empty());
}

RC_GTEST_PROP(WriteMidi, AnyNotesComeBack, ()) {
  Score score;
  const int count = *rc::gen::inRange(0, 60);
  double at = 0;
  for (int i = 0; i < count; ++i) {
    at += *rc::gen::inRange(0, 1000) / 1000.0;
    // A key of its own for each: a second note-on would end the first.
    score.notes.push_back({.start_s = at,
                           .end_s = at + *rc::gen::inRange(1, 5000) / 1000.0,
                           .key = static_cast<double>(20 + i),
                           .velocity = *rc::gen::inRange(1, 128) / 127.0,
                           .channel = *rc::gen::inRange(0, 9)});
    score.length_s = std::max(score.length_s, score.notes.back().end_s);
  }
  const Score again = read(to_midi(score));
  RC_ASSERT(again.notes.size() == score.notes.size());
  for (const Note& note : score.notes) {
    const auto found = std::find_if(again.notes.begin(), again.notes.end(),
                                    [&](const Note& it) { return it.key == note.key; });
    RC_ASSERT(found != again.notes.end());
    RC_ASSERT(std::abs(found->start_s - note.start_s) <= kTick_s &&
              std::abs(found->end_s - note.end_s) <= 2 * kTick_s);
    RC_ASSERT(found->channel == note.channel && found->velocity == note.velocity);
  }
}

TEST(WriteMidi, KeepsOddNotesInRange) {
  Score score;
  score.length_s = 1;
  score.notes = {{.start_s = 0, .end_s = 0, .key = 300, .velocity = 0},
                 {.start_s = -1, .end_s = 0.5, .key = 60.4, .velocity = 7, .channel = 9}};
  const Score again = read(to_midi(score));
  ASSERT_EQ(again.notes.size(), 2u);
  for (const Note& note : again.notes) EXPECT_TRUE(note.key == 127 || (note.key == 60 && note.channel == 10));
  score.length_s = 1e9;
  EXPECT_THROW((void)to_midi(score), Error);
}

}  // namespace
}  // namespace burstloom
