// The standard's own examples: "Standard MIDI-File Format Spec. 1.1, updated" (1999 edition of the IMA/MMA
// text).
#include "../../src/score/midi_bytes.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using midi_detail::MidiBytes;
using testing::error_from;
using testing::hex;
using testing::score_from;

// Section 1.1; the same table in the canonical data for "variable length quantity" of a public set of
// exercises (problem-specifications v1.2.0, commit 191f8086).
TEST(Published, VariableLengthQuantities) {
  const std::pair<std::uint32_t, const char*> table[] = {{0x00, "00"},
                                                         {0x40, "40"},
                                                         {0x7F, "7F"},
                                                         {0x80, "81 00"},
                                                         {0x2000, "C0 00"},
                                                         {0x3FFF, "FF 7F"},
                                                         {0x4000, "81 80 00"},
                                                         {0x100000, "C0 80 00"},
                                                         {0x1FFFFF, "FF FF 7F"},
                                                         {0x200000, "81 80 80 00"},
                                                         {0x8000000, "C0 80 80 00"},
                                                         {0xFFFFFFF, "FF FF FF 7F"}};
  for (const auto& [value, digits] : table) {
    const auto bytes = hex(digits);
    MidiBytes reader(bytes, 0, bytes.size());
    EXPECT_EQ(reader.variable_length(), value) << digits;
    EXPECT_EQ(reader.left(), 0u) << digits;
  }
}

TEST(Published, ASequenceOfVariableLengthQuantities) {
  const auto bytes = hex("C0 00 C8 E8 56 FF FF FF 7F 00 FF 7F 81 80 00");
  MidiBytes reader(bytes, 0, bytes.size());
  for (const std::uint32_t value : {0x2000u, 0x123456u, 0xFFFFFFFu, 0x0u, 0x3FFFu, 0x4000u})
    EXPECT_EQ(reader.variable_length(), value);
  EXPECT_EQ(reader.left(), 0u);
}

TEST(Published, CutOffOrOverlongQuantitiesAreRefused) {
  for (const char* digits : {"", "FF", "80", "FF FF FF", "81 80 80 80 00", "FF FF FF FF 7F"}) {
    const auto bytes = hex(digits);
    EXPECT_THROW(MidiBytes(bytes, 0, bytes.size()).variable_length(), midi_detail::Damage) << digits;
  }
}

// Programs 5, 46 and 70: an electric piano and a harp die away, a bassoon does not.
const std::vector<Note> kExpected = {{0.0, 2.0, 48, 96 / 127.0, 2, 0},
                                     {0.0, 2.0, 60, 96 / 127.0, 2, 0},
                                     {0.5, 2.0, 67, 64 / 127.0, 1, 0, Envelope::plucked},
                                     {1.0, 2.0, 76, 32 / 127.0, 0, 0, Envelope::plucked}};

void expect_published_notes(const Score& score, const std::vector<int>& tracks) {
  ASSERT_EQ(score.notes.size(), kExpected.size());
  for (std::size_t i = 0; i < kExpected.size(); ++i) {
    Note expected = kExpected[i];
    expected.track = tracks[i];
    EXPECT_EQ(score.notes[i], expected) << i;
  }
  EXPECT_EQ(score.length_s, 2.0);
  EXPECT_TRUE(score.remarks.empty());
}

// Appendix 2.
TEST(Published, WholeFileOfFormat0) {
  const auto bytes =
      hex("4D546864 00000006 0000 0001 0060 4D54726B 0000003B 00FF580404021808 00FF510307A120 00C005 00C12E "
          "00C246 "
          "00923060 003C60 60914340 60904C20 8140823040 003C40 00814340 00804C40 00FF2F00");
  ASSERT_EQ(bytes.size(), 81u);
  const MidiFile midi = parse_midi(bytes, "x", {});
  EXPECT_EQ(midi.format, 0);
  EXPECT_EQ(midi.division, 96);
  ASSERT_EQ(midi.tracks.size(), 1u);
  EXPECT_EQ(midi.tracks[0].events.size(), 14u);
  EXPECT_EQ(midi.tracks[0].end_tick, 384u);
  expect_published_notes(score_of(midi, ""), {0, 0, 0, 0});
}

// Its notes end with note-on velocity 0, under running status.
TEST(Published, WholeFileOfFormat1) {
  const auto bytes =
      hex("4D546864 00000006 0001 0004 0060 4D54726B 00000014 00FF580404021808 00FF510307A120 8300FF2F00 "
          "4D54726B 00000010 00C005 8140904C20 81404C00 00FF2F00 4D54726B 0000000F 00C12E 60914340 82204300 "
          "00FF2F00 "
          "4D54726B 00000015 00C246 00923060 003C60 83003000 003C00 00FF2F00");
  ASSERT_EQ(bytes.size(), 118u);
  expect_published_notes(score_from(bytes), {3, 3, 2, 1});
}

// Section 2.3: a message sent in three packets, 200 and 100 ticks apart. No note, and running status is
// cancelled.
TEST(Published, SystemExclusiveInPackets) {
  const auto bytes = testing::midi_file(
      {"00 F0 03 43 12 00 81 48 F7 06 43 12 00 43 12 00 64 F7 04 43 12 00 F7 00 90 45 40 60 45 00" +
       testing::kEnd});
  const MidiFile midi = parse_midi(bytes, "x", {});
  const auto& events = midi.tracks[0].events;
  ASSERT_EQ(events.size(), 6u);
  EXPECT_EQ(events[0].status, 0xF0);
  EXPECT_EQ(events[0].data.size(), 3u);
  EXPECT_EQ(events[1].tick, 200u);
  EXPECT_EQ(events[1].data.size(), 6u);
  EXPECT_EQ(events[2].tick, 300u);
  EXPECT_EQ(events[2].data.back(), 0xF7);
  EXPECT_EQ(score_of(midi, "").notes.size(), 1u);
}

// Section 2.1: 0xE250 is -30 frames a second, 80 ticks a frame; 0xE728 is -25 and 40: a millisecond a tick.
// That -29 stands for 30000 / 1001 frames is from memory.
TEST(Published, SmpteTime) {
  const auto seconds_of_a_thousand_ticks = [](std::uint32_t division) {
    return score_from(testing::midi_file({"00 FF 51 03 01 00 00 00 90 45 40 87 68 80 45 00" + testing::kEnd},
                                         0, division))
        .length_s;
  };
  EXPECT_DOUBLE_EQ(seconds_of_a_thousand_ticks(0xE250), 1000 / 2400.0);
  EXPECT_DOUBLE_EQ(seconds_of_a_thousand_ticks(0xE728), 1.0);
  EXPECT_DOUBLE_EQ(seconds_of_a_thousand_ticks(0xE328), 1000 / (40 * 30000 / 1001.0));
  EXPECT_DOUBLE_EQ(seconds_of_a_thousand_ticks(0xE850), 1000 / (24 * 80.0));
}

// ISO 16: A = 440 Hz; equal temperament; values computed from the closed form.
TEST(Published, HertzOfKeys) {
  const std::pair<double, double> table[] = {
      {0, 8.175799},     {21, 27.5},        {24, 32.703196},    {36, 65.406391},    {48, 130.812783},
      {57, 220},         {60, 261.625565},  {69, 440},          {72, 523.251131},   {81, 880},
      {84, 1046.502261}, {96, 2093.004522}, {108, 4186.009045}, {127, 12543.853951}};
  for (const auto& [key, hz] : table) EXPECT_NEAR(key_hz(key), hz, 1e-6) << key;
  EXPECT_NEAR(key_hz(69.5), 452.89298, 1e-5);
  EXPECT_NEAR(key_hz(68.5), 427.47405, 1e-5);
}

}  // namespace
}  // namespace burstloom
