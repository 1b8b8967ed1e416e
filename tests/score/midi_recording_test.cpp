// What was played live comes back from its MIDI file, to the step.
#include "burstloom/score/midi_recording.hpp"

#include <gtest/gtest.h>

#include "burstloom/common/error.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom {
namespace {

Score read_back(const MidiRecording& recording, const std::string& title, std::int64_t length) {
  const Bytes bytes = recording.file(title, length);
  return score_of(parse_midi(bytes, "recording.mid"), "");
}

void add(MidiRecording& recording, std::int64_t step, std::initializer_list<std::uint8_t> message) {
  recording.add(step, std::span(message.begin(), message.size()));
}

TEST(MidiRecording, NotesComeBackAtTheirSteps) {
  MidiRecording recording;
  add(recording, 1, {0x92, 60, 100});
  add(recording, 12'345, {0x92, 64, 1});
  add(recording, 50'000, {0x82, 60, 0});
  add(recording, 49'999, {0x82, 64, 0});  // earlier than the one before: at its moment
  const Score score = read_back(recording, "tried out", 100'000);
  ASSERT_EQ(score.notes.size(), 2u);
  EXPECT_DOUBLE_EQ(score.notes[0].start_s, 1 * kMidiRecordingStep_s);
  EXPECT_DOUBLE_EQ(score.notes[0].end_s, 50'000 * kMidiRecordingStep_s);
  EXPECT_DOUBLE_EQ(score.notes[1].start_s, 12'345 * kMidiRecordingStep_s);
  EXPECT_DOUBLE_EQ(score.notes[1].end_s, 50'000 * kMidiRecordingStep_s);
  EXPECT_EQ(score.notes[0].channel, 2);
  EXPECT_EQ(score.title, "tried out");
}

// Four bytes of seven bits hold 2^28 - 1 at most (SMF 1.0); that many steps are an hour and a half.
TEST(MidiRecording, PausesLongerThanANumberHoldsKeepTheirLength) {
  for (const std::int64_t pause : {(1ll << 28) - 1, 1ll << 28, 3 * (1ll << 28) + 7}) {
    MidiRecording recording;
    add(recording, pause, {0x90, 60, 100});
    add(recording, pause + 1'000, {0x80, 60, 0});
    const Score score = read_back(recording, "", 2 * pause + 1'000);
    ASSERT_EQ(score.notes.size(), 1u);
    EXPECT_NEAR(score.notes[0].start_s, static_cast<double>(pause) * kMidiRecordingStep_s, 1e-9) << pause;
  }
}

TEST(MidiRecording, OnlyWholeChannelMessagesAreKept) {
  MidiRecording recording;
  const Bytes nothing = recording.file("", 0);
  add(recording, 0, {});
  add(recording, 0, {0xFF});
  add(recording, 0, {0xF0, 1, 0xF7});
  add(recording, 0, {0x90, 60});
  add(recording, 0, {0xC0, 1, 2});
  add(recording, 0, {0x90, 60, 0x90});
  add(recording, 0, {60, 60, 60});
  EXPECT_EQ(recording.file("", 0), nothing);
}

}  // namespace
}  // namespace burstloom
