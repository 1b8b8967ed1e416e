// Notes are counted one by one, and the counts add up.
#include "burstloom/weave/note_sums.hpp"

#include <gtest/gtest.h>

namespace burstloom {
namespace {

constexpr std::uint32_t kGap = 1, kDuty = 2;

Change dropped(std::uint32_t note, std::uint32_t causes) {
  Change change;
  change.note = note, change.causes = causes, change.fate = Fate::dropped;
  return change;
}

Account account_with(std::size_t notes) {
  Account account;
  account.limits = {"gap", "duty 10 ms"};
  account.notes.resize(notes);
  return account;
}

TEST(NoteSums, TellWholeNotesFromThoseThatLostBursts) {
  Account account = account_with(4);
  account.note_of_burst = {0, 0, 1, 3};
  Change shifted;
  shifted.note = 0, shifted.burst = 1, shifted.fate = Fate::shifted, shifted.causes = kGap;
  account.changes = {shifted, dropped(1, kGap), dropped(1, kDuty), dropped(1, kDuty), dropped(2, kGap)};
  const NoteSums sums = note_sums(account);
  EXPECT_EQ(sums.read, 4);
  EXPECT_EQ(sums.whole, 2);  // a burst that was moved still sounds
  EXPECT_EQ(sums.cut_short, 1);
  EXPECT_EQ(sums.not_played, 1);
  EXPECT_EQ(sums.cut_short_by, (std::vector<NoteLoss>{{"duty 10 ms", 1}}));  // it took the most
  EXPECT_EQ(sums.not_played_by, (std::vector<NoteLoss>{{"gap", 1}}));
}

TEST(NoteSums, CountANoteUnderWhatHappenedToItAsAWhole) {
  Account account = account_with(5);
  account.notes[0].said =
      words_of({.note = 0, .from_s = 1, .what = NoteFateKind::stolen, .why = "no voice left"});
  account.notes[1].said =
      words_of({.note = 1, .from_s = 2, .what = NoteFateKind::skipped, .why = "no length"});
  account.notes[2].said =
      words_of({.note = 2, .from_s = 1, .what = NoteFateKind::folded, .octaves = -1, .why = "too high"}) +
      "; " + words_of({.note = 2, .from_s = 3, .what = NoteFateKind::stolen, .why = "no voice left"});
  account.notes[3].said =
      words_of({.note = 3, .from_s = 1, .what = NoteFateKind::folded, .octaves = -1, .why = "too high"});
  account.note_of_burst = {2, 3};
  account.changes = {dropped(2, kGap)};
  const NoteSums sums = note_sums(account);
  EXPECT_EQ(sums.whole, 1);
  EXPECT_EQ(sums.cut_short, 1);
  EXPECT_EQ(sums.not_played, 3);
  EXPECT_EQ(sums.other_octave, 2);
  EXPECT_EQ(sums.cut_short_by, (std::vector<NoteLoss>{{"no voice left", 1}}));
  EXPECT_EQ(sums.not_played_by,
            (std::vector<NoteLoss>{
                {"no length", 1}, {"no voice left", 1}, {"too soft for the shortest burst", 1}}));
}

TEST(NoteSums, NameTheReasonsWithTheMostNotesFirst) {
  Account account = account_with(4);
  account.note_of_burst = {0, 1, 2, 3};
  account.changes = {dropped(0, kGap), dropped(1, kDuty), dropped(2, kDuty)};
  EXPECT_EQ(note_sums(account).cut_short_by, (std::vector<NoteLoss>{{"duty 10 ms", 2}, {"gap", 1}}));
}

TEST(NoteSums, OfNoNotesAreNothing) {
  EXPECT_EQ(note_sums({}), NoteSums());
}

}  // namespace
}  // namespace burstloom
