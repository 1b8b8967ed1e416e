// Controllers from bytes to curves. 96 ticks a quarter note at 120 a minute: hexadecimal 60 is half a second.
// Numbers of messages: MIDI 1.0 as in the Standard MIDI File text, appendix 1.1 and 1.2.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support.hpp"

namespace burstloom {
namespace {

using testing::kEnd;
using testing::midi_file;
using testing::score_from;

const std::string kNote = " 00 90 45 40 81 40 80 45 40";

Score score_of_track(const std::string& track) {
  return score_from(midi_file({track + kEnd}, 0));
}
double bend_after(const std::string& track) {
  return value_at(score_of_track(track + kNote).channels[0].bend, 0.5, 0);
}

// Semitones = (value - 8192) / 8192 times the range, two semitones unless said.
TEST(Bend, IsFourteenBitsOfTwoSemitones) {
  EXPECT_DOUBLE_EQ(bend_after("00 E0 00 00"), -2);
  EXPECT_DOUBLE_EQ(bend_after("00 E0 00 20"), -1);
  EXPECT_DOUBLE_EQ(bend_after("00 E0 00 40"), 0);
  EXPECT_DOUBLE_EQ(bend_after("00 E0 00 60"), 1);
  EXPECT_NEAR(bend_after("00 E0 7F 7F"), 1.999756, 1e-6);
  // A4 and a bend of -2: 391.99544 Hz.
  EXPECT_NEAR(key_hz(69 + bend_after("00 E0 00 00")), 391.99544, 1e-5);
}

TEST(Bend, FollowsTheRangeOfRpn0) {
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 06 0C 00 E0 00 00"), -12);
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 06 01 00 26 32 00 E0 00 00"),
                   -1.5);  // a semitone and 50 cents
  // The range changes what is bent already.
  EXPECT_DOUBLE_EQ(bend_after("00 E0 00 60 00 B0 65 00 00 64 00 00 06 18"), 12);
  // One step up, one down, in cents.
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 60 00 00 E0 00 00"), -2.01);
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 61 00 00 E0 00 00"), -1.99);
}

TEST(Bend, DataForNothingOrForAnUnregisteredParameterIsIgnored) {
  EXPECT_DOUBLE_EQ(bend_after("00 B0 06 0C 00 E0 00 00"), -2);
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 65 7F 00 64 7F 00 06 0C 00 E0 00 00"), -2);
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 00 00 63 00 00 62 00 00 06 0C 00 E0 00 00"), -2);
}

// RPN 1: 14 bits over -100 to 100 cents. RPN 2: semitones from 64.
TEST(Tuning, OfRpn1And2Adds) {
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 01 00 06 60"), 0.5);
  EXPECT_NEAR(bend_after("00 B0 65 00 00 64 01 00 06 40 00 26 52"), 0.01, 1e-4);  // 82 of 8192: a cent
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 02 00 06 34"), -12);
  EXPECT_DOUBLE_EQ(bend_after("00 B0 65 00 00 64 02 00 06 41 00 64 01 00 06 20 00 E0 00 60"), 1 - 0.5 + 1);
}

TEST(Bend, HappensWhenItHappens) {
  const Score score = score_of_track("00 90 45 40 60 E0 00 60 60 E0 00 40 60 80 45 40");
  EXPECT_EQ(score.channels[0].bend, (StepCurve{{0.5, 1}, {1, 0}}));
  EXPECT_TRUE(score.channels[1].bend.empty());
  EXPECT_TRUE(score.channels[0].gain.empty());
}

TEST(Vibrato, IsOfModulationAndPressureTheDeeper) {
  const Score score = score_of_track("00 B0 01 7F 60 01 00 60 D0 7F 60 B0 01 40" + kNote);
  EXPECT_EQ(score.channels[0].vibrato, (StepCurve{{0, 0.5}, {0.5, 0}, {1, 0.5}}));
}

// Volume against the 100 that a channel has that never heard of it; the loudest channel is 1.
TEST(Gain, IsVolumeTimesExpression) {
  const auto gain = [](const std::string& track, std::size_t channel) {
    return value_at(score_of_track(track + kNote).channels[channel].gain, 0.1, 1);
  };
  EXPECT_DOUBLE_EQ(gain("00 B0 07 32", 0), 0.5);
  EXPECT_DOUBLE_EQ(gain("00 B0 07 64", 0), 1);
  EXPECT_DOUBLE_EQ(gain("00 B0 0B 40", 0), 64 / 127.0);
  EXPECT_DOUBLE_EQ(gain("00 B0 07 32 00 0B 40", 0), 0.5 * 64 / 127.0);
  EXPECT_DOUBLE_EQ(gain("00 B0 07 7F", 0), 1);
  EXPECT_DOUBLE_EQ(gain("00 B0 07 7F", 1), 100 / 127.0);  // softer beside it, though nobody told it
  EXPECT_DOUBLE_EQ(gain("00 B0 07 00", 0), 0);
}

// RP-015: expression, modulation, bend and pressure go back; volume and the bend's range stay.
TEST(Reset, DoesWhatRp015Says) {
  const Score score = score_of_track(
      "00 B0 65 00 00 64 00 00 06 0C 00 07 32 00 0B 20 00 01 7F 00 D0 7F 00 E0 00 60 60 B0 79 00 60 E0 00 "
      "60" +
      kNote);
  const ChannelCurves& curves = score.channels[0];
  EXPECT_DOUBLE_EQ(value_at(curves.bend, 0.4, 0), 6);
  EXPECT_DOUBLE_EQ(value_at(curves.bend, 0.6, 0), 0);
  EXPECT_DOUBLE_EQ(value_at(curves.bend, 1.1, 0), 6);
  EXPECT_DOUBLE_EQ(value_at(curves.gain, 0.6, 1), 0.5);
  EXPECT_DOUBLE_EQ(value_at(curves.vibrato, 0.6, 0), 0);
  // The parameter is deselected: data is nobody's.
  const Score after = score_of_track("00 B0 65 00 00 64 00 00 79 00 00 06 0C 00 E0 00 00" + kNote);
  EXPECT_DOUBLE_EQ(value_at(after.channels[0].bend, 0.1, 0), -2);
}

TEST(Channels, AreTheSameInAllTracksOfFormat1) {
  const Score score = score_from(midi_file({"60 E0 00 60" + kEnd, "00 90 45 40 81 40 45 00" + kEnd}));
  EXPECT_EQ(score.channels[0].bend, (StepCurve{{0.5, 1}}));
}

TEST(Programs, SayWhatDiesAway) {
  for (const auto& [program, envelope] : std::vector<std::pair<int, Envelope>>{{0, Envelope::plucked},
                                                                               {16, Envelope::held},
                                                                               {24, Envelope::plucked},
                                                                               {40, Envelope::held},
                                                                               {46, Envelope::plucked},
                                                                               {56, Envelope::held},
                                                                               {73, Envelope::held},
                                                                               {105, Envelope::plucked},
                                                                               {127, Envelope::held}}) {
    char change[16];
    std::snprintf(change, sizeof change, "00 C0 %02X", static_cast<unsigned>(program));
    const Score score = score_of_track(change + kNote);
    EXPECT_EQ(score.notes[0].envelope, envelope) << program;
    EXPECT_EQ(score.channels[0].program, program);
  }
  EXPECT_EQ(score_of_track(kNote.substr(1)).notes[0].envelope, Envelope::held);  // a file that names none
}

TEST(Percussion, IsOnChannel10AndNowhereElse) {
  const Score score = score_of_track("00 99 24 40 00 90 24 40 60 89 24 40 00 80 24 40");
  ASSERT_EQ(score.notes.size(), 2u);
  for (const Note& note : score.notes) EXPECT_EQ(note.part, note.channel == 9 ? Part::drums : Part::any);
}

struct Ends {
  double first, second;
};
// Keys 60 and 64, one struck at 0 and let go at 0.5 s, the other struck at 0.5 and let go at 1 s; what ends
// them.
Ends ends_of(const std::string& before, const std::string& at_quarter, const std::string& at_1500ms) {
  const Score score = score_of_track(before + " 00 90 3C 40 30 " + at_quarter +
                                     " 30 80 3C 40 00 90 40 40 60 80 40 40 60 " + at_1500ms + " 60 B0 7B 00");
  EXPECT_EQ(score.notes.size(), 2u);
  return {score.notes[0].end_s, score.notes[1].end_s};
}

// Sostenuto holds the keys that were down when it was pressed.
TEST(Pedals, SostenutoHoldsWhatWasDown) {
  const std::string nothing = "B0 03 00";
  const Ends without = ends_of("00 B0 03 00", nothing, nothing);
  EXPECT_EQ(without.first, 0.5);
  EXPECT_EQ(without.second, 1);
  const Ends with = ends_of("00 B0 03 00", "B0 42 7F", "B0 42 00");
  EXPECT_EQ(with.first, 1.5);
  EXPECT_EQ(with.second, 1);
  // 64 and above is down, 63 is not; a second press while it is down catches nothing more.
  EXPECT_EQ(ends_of("00 B0 03 00", "B0 42 40", "B0 42 3F").first, 1.5);
  EXPECT_EQ(ends_of("00 B0 03 00", "B0 42 3F", nothing).first, 0.5);
  EXPECT_EQ(ends_of("00 B0 42 7F", "B0 42 7F", "B0 42 00").first, 0.5);
}

TEST(Pedals, SostenutoAndSustainTogether) {
  // Sustain comes up while sostenuto still holds: only what it caught goes on.
  const Score score = score_of_track(
      "00 90 3C 40 30 B0 42 7F 00 40 7F 00 90 40 40 30 80 3C 40 00 80 40 40 60 B0 40 00 60 B0 42 00");
  ASSERT_EQ(score.notes.size(), 2u);
  EXPECT_EQ(score.notes[0].end_s, 1.5);
  EXPECT_EQ(score.notes[1].end_s, 1);
}

RC_GTEST_PROP(Channels, AnyMessagesGiveOrderedCurvesInRange, (const std::vector<std::uint8_t>& numbers)) {
  std::string track;
  char text[48];
  for (std::size_t i = 0; i + 2 < numbers.size(); i += 3) {
    const unsigned kind[] = {0xB0u, 0xB0u, 0xD0u, 0xE0u, 0xC0u};
    const unsigned status = kind[numbers[i] % 5], first = numbers[i + 1] & 0x7Fu,
                   second = numbers[i + 2] & 0x7Fu;
    std::snprintf(text, sizeof text,
                  status == 0xC0u || status == 0xD0u ? "%02X %02X %02X" : "%02X %02X %02X %02X",
                  numbers[i] & 3u, status, first, second);
    track += text;
  }
  const ChannelCurves curves = score_of_track(track + kNote).channels[0];
  const auto sane = [](const StepCurve& curve, double low, double high) {
    for (std::size_t i = 0; i < curve.size(); ++i) {
      RC_ASSERT(curve[i].value >= low && curve[i].value <= high);
      if (i > 0) RC_ASSERT(curve[i].at_s > curve[i - 1].at_s && curve[i].value != curve[i - 1].value);
    }
  };
  sane(curves.bend, -129 - 65, 129 + 65);
  sane(curves.gain, 0, 1);
  sane(curves.vibrato, 0, 0.5);
}

}  // namespace
}  // namespace burstloom
