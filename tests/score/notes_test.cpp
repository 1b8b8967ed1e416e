// From events to notes. 96 ticks a quarter note, 120 quarter notes a minute: 192 ticks a second unless said.
#include "../../src/score/titles.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using testing::kEnd;
using testing::midi_file;
using testing::score_from;

struct Span {
  double start_s, end_s, key;
  friend bool operator==(const Span&, const Span&) = default;
  friend std::ostream& operator<<(std::ostream& out, const Span& span) {
    return out << span.key << " from " << span.start_s << " until " << span.end_s;
  }
};

std::vector<Span> spans(const Score& score) {
  std::vector<Span> all;
  for (const Note& note : score.notes) all.push_back({note.start_s, note.end_s, note.key});
  return all;
}
std::vector<Span> spans_of(const std::string& track) {
  return spans(score_from(midi_file({track + kEnd}, 0)));
}
using Spans = std::vector<Span>;

bool says(const Score& score, const std::string& words) {
  for (const std::string& remark : score.remarks)
    if (remark.find(words) != std::string::npos) return true;
  return false;
}

TEST(Notes, TempoChangesHoldForEveryTrack) {
  // A second at 120, then 60 quarter notes a minute, then 240; set in the second track.
  const Score score =
      score_from(midi_file({"00 90 3C 40 81 40 3C 00 00 3E 40 60 3E 00 00 40 40 81 40 40 00" + kEnd,
                            "81 40 FF 51 03 0F 42 40 60 FF 51 03 03 D0 90" + kEnd}));
  EXPECT_EQ(spans(score), (Spans{{0, 1, 60}, {1, 2, 62}, {2, 2.5, 64}}));
}

TEST(Notes, ATempoAtTheSameTickAsANoteHolds) {
  const Score score = score_from(midi_file({"00 FF 51 03 0F 42 40" + kEnd, "00 90 3C 40 60 3C 00" + kEnd}));
  EXPECT_EQ(spans(score), (Spans{{0, 1, 60}}));
}

TEST(Notes, ATempoOfNothingIsIgnoredAndSaid) {
  const Score score =
      score_from(midi_file({"00 FF 51 03 00 00 00 00 FF 51 02 07 A1 00 90 3C 40 60 3C 00" + kEnd}));
  EXPECT_EQ(spans(score), (Spans{{0, 0.5, 60}}));
  EXPECT_TRUE(says(score, "2 tempo events"));
}

TEST(Notes, RunningStatusGoesOnAcrossTimes) {
  EXPECT_EQ(spans_of("00 90 3C 40 60 3C 00 60 3E 40 60 3E 00"), (Spans{{0, 0.5, 60}, {1, 1.5, 62}}));
}

TEST(Notes, ASecondNoteOnEndsTheFirst) {
  EXPECT_EQ(spans_of("00 90 3C 40 60 3C 50 60 80 3C 00"), (Spans{{0, 0.5, 60}, {0.5, 1, 60}}));
}

TEST(Notes, TheSameKeyOnTwoChannelsIsTwoNotes) {
  EXPECT_EQ(spans_of("00 90 3C 40 00 91 3C 40 60 80 3C 00 60 81 3C 00"), (Spans{{0, 0.5, 60}, {0, 1, 60}}));
}

TEST(Notes, AStrayNoteOffIsNothing) {
  EXPECT_EQ(spans_of("00 80 3C 40 60 90 3C 40 60 80 3C 40 00 80 3C 40"), (Spans{{0.5, 1, 60}}));
}

TEST(Notes, NeverLetGoEndWithTheSongAndAreSaid) {
  const Score score = score_from(midi_file({"00 90 3C 40 81 40 FF2F00", "83 00 FF2F00"}));
  EXPECT_EQ(spans(score), (Spans{{0, 2, 60}}));
  EXPECT_TRUE(says(score, "1 notes were never let go"));
}

// Controller 64. That 63 is off and 64 on is from memory; the standard's table prints "<63/>64".
TEST(Notes, ThePedalHoldsWhatWasLetGo) {
  EXPECT_EQ(spans_of("00 B0 40 40 00 90 3C 40 60 3C 00 60 B0 40 3F"), (Spans{{0, 1, 60}}));
  EXPECT_EQ(spans_of("00 B0 40 3F 00 90 3C 40 60 3C 00 60 B0 40 00"), (Spans{{0, 0.5, 60}}));
}

TEST(Notes, AKeyStillDownOutlastsThePedal) {
  EXPECT_EQ(spans_of("00 B0 40 7F 00 90 3C 40 60 B0 40 00 60 80 3C 00"), (Spans{{0, 1, 60}}));
}

TEST(Notes, AKeyStruckAgainUnderThePedalEndsTheFirst) {
  EXPECT_EQ(spans_of("00 B0 40 7F 00 90 3C 40 30 3C 00 30 3C 40 30 3C 00 30 B0 40 00"),
            (Spans{{0, 0.5, 60}, {0.5, 1, 60}}));
}

TEST(Notes, APedalNeverLiftedHoldsToTheEndAndIsNoFault) {
  const Score score = score_from(midi_file({"00 B0 40 7F 00 90 3C 40 60 3C 00 81 40 FF2F00"}));
  EXPECT_EQ(spans(score), (Spans{{0, 1.5, 60}}));
  EXPECT_TRUE(score.remarks.empty());
}

TEST(Notes, ThePedalOfOneChannelIsNotAnothers) {
  EXPECT_EQ(spans_of("00 B1 40 7F 00 90 3C 40 60 3C 00 60 B1 40 00"), (Spans{{0, 0.5, 60}}));
}

// MIDI 1.0: 120 all sound off cuts at once; 123 all notes off, as do 124 to 127, leaves the pedal's; 121
// lifts it.
TEST(Notes, ControllersThatEndNotes) {
  EXPECT_EQ(spans_of("00 B0 40 7F 00 90 3C 40 60 B0 78 00 60 B0 40 00"), (Spans{{0, 0.5, 60}}));
  for (const char* number : {"7B", "7C", "7D", "7E", "7F"}) {
    EXPECT_EQ(spans_of(std::string("00 90 3C 40 60 B0 ") + number + " 00 60 80 3C 00"), (Spans{{0, 0.5, 60}}))
        << number;
    EXPECT_EQ(spans_of(std::string("00 B0 40 7F 00 90 3C 40 60 B0 ") + number + " 00 60 B0 40 00"),
              (Spans{{0, 1, 60}}))
        << number;
  }
  EXPECT_EQ(spans_of("00 B0 40 7F 00 90 3C 40 30 3C 00 30 B0 79 00 60 B0 40 00"), (Spans{{0, 0.5, 60}}));
  EXPECT_EQ(spans_of("00 90 3C 40 60 B0 7A 00 60 80 3C 00"), (Spans{{0, 1, 60}}));  // 122 is no such
}

TEST(Notes, OfThePercussionChannelAreDrums) {
  const Score score =
      score_from(midi_file({"00 99 24 40 00 26 50 60 24 00 00 26 00 00 90 3C 40 60 3C 00" + kEnd}));
  EXPECT_EQ(std::count_if(score.notes.begin(), score.notes.end(),
                          [](const Note& note) { return note.part == Part::drums; }),
            2);
  EXPECT_EQ(spans(score), (Spans{{0, 0.5, 36}, {0, 0.5, 38}, {0.5, 1, 60}}));
}

TEST(Notes, PatternsOfFormat2FollowOneAnother) {
  const Score score = score_from(
      midi_file({"00 90 3C 40 60 3C 00 60 FF2F00", "00 FF 51 03 0F 42 40 00 90 3E 40 60 3E 00" + kEnd,
                 "00 90 40 40 60 40 00" + kEnd},
                2));
  // The second pattern's tempo is its own.
  EXPECT_EQ(spans(score), (Spans{{0, 0.5, 60}, {1, 2, 62}, {2, 2.5, 64}}));
  EXPECT_EQ(score.notes[2].track, 2);
  EXPECT_EQ(score.length_s, 2.5);
}

TEST(Notes, OfFormat1SoundTogether) {
  const Score score =
      score_from(midi_file({"00 90 3C 40 60 3C 00 60 FF2F00", "00 91 3E 40 60 3E 00" + kEnd}, 1));
  EXPECT_EQ(spans(score), (Spans{{0, 0.5, 60}, {0, 0.5, 62}}));
  EXPECT_EQ(score.length_s, 1.0);
}

TEST(Notes, AnUnknownFormatIsReadAsFormat1) {
  const Score score =
      score_from(midi_file({"00 90 3C 40 60 3C 00" + kEnd, "00 91 3E 40 60 3E 00" + kEnd}, 7));
  EXPECT_EQ(spans(score), (Spans{{0, 0.5, 60}, {0, 0.5, 62}}));
  EXPECT_TRUE(says(score, "unknown format 7"));
}

TEST(Notes, TheFirstTracksNameIsTheTitle) {
  EXPECT_EQ(score_from(midi_file({"00 FF 03 05 51 75 61 79 73" + kEnd, "00 FF 03 01 41" + kEnd})).title,
            "Quays");
  EXPECT_EQ(score_from(midi_file({"" + kEnd, "00 FF 03 01 41" + kEnd})).title, "untitled");
  EXPECT_EQ(score_from(midi_file({"00 FF 03 04 41 1B 0A FF" + kEnd})).title, "A???");
  EXPECT_EQ(score_from(midi_file({"00 FF 03 04 31 38 31 32" + kEnd})).title, "1812");
}

TEST(Notes, HeldForMoreThanTenMinutesEndThen) {
  // 10 and 10.5 minutes at 192 ticks a second.
  const Score ten = score_from(midi_file({"00 90 3C 40 87 84 00 3C 00" + kEnd}));
  EXPECT_EQ(spans(ten), (Spans{{0, 600, 60}}));
  EXPECT_TRUE(ten.remarks.empty());
  const Score longer = score_from(midi_file({"00 90 3C 40 87 B1 00 3C 00" + kEnd}));
  EXPECT_EQ(spans(longer), (Spans{{0, 600, 60}}));
  EXPECT_TRUE(says(longer, "more than ten minutes"));
  EXPECT_GT(longer.length_s, 600);
}

TEST(Notes, ASongLongerThanADayIsRefused) {
  // A tempo of 16.8 s a quarter note; 96 * 5200 ticks are more than a day.
  const auto bytes = midi_file({"00 FF 51 03 FF FF FF 00 90 3C 40 9E BC 00 3C 00" + kEnd});
  EXPECT_NE(testing::error_from(bytes).problem().find("longer than a day"), std::string::npos);
}

TEST(Notes, TimesStayExactOverManyTempoChanges) {
  std::string track;
  for (int i = 0; i < 1000; ++i) track += "01 FF 51 03 07 A1 21 01 FF 51 03 07 A1 1F ";
  track += "00 90 3C 40 60 3C 00";
  // 1000 times a tick at 500 001 and one at 499 999 us, the very first at 500 000: 96 ticks a quarter note.
  const Score score = score_from(midi_file({track + kEnd}));
  const double expected = (500000.0 + 999 * 499999.0 + 1000 * 500001.0) / 96e6;
  EXPECT_NEAR(score.notes[0].start_s, expected, 1e-12);
}

TEST(Titles, APlaceholderIsNone) {
  for (const char* name : {"Track 1", "track 01", "TRACK-02", "untitled", "Untitled #3", "  ", "New Song"})
    EXPECT_TRUE(is_placeholder(name)) << name;
  for (const char* name : {"1812", "Tracks in the snow", "Sequence of fools", "Song of the sea"})
    EXPECT_FALSE(is_placeholder(name)) << name;
  EXPECT_EQ(score_from(midi_file({"00 FF 03 07 54 72 61 63 6B 20 31" + kEnd})).title, "untitled");
}

}  // namespace
}  // namespace burstloom
