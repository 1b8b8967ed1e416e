// What is wrong with a file, told by its byte; and what can be had from it all the same.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <tuple>

#include "support.hpp"

namespace burstloom {
namespace {

using testing::Bytes;
using testing::error_from;
using testing::hex;
using testing::kEnd;
using testing::midi_file;
using testing::score_from;

void expect_damage(const Bytes& bytes, const std::string& words, std::size_t byte) {
  const Error error = error_from(bytes);
  EXPECT_EQ(error.fault(), Fault::bad_input);
  EXPECT_NE(error.problem().find(words), std::string::npos) << error.what();
  EXPECT_EQ(error.where(), "song.mid, byte " + std::to_string(byte)) << error.what();
  EXPECT_FALSE(error.what_to_do().empty());
}

// The first track's first byte stands at 22: a header of 14 bytes, a chunk's type and length of 8.
constexpr std::size_t kTrack = 22;

TEST(Damage, NoMidiFileAtAll) {
  for (const char* digits : {"4D", "4D546865 00000006 0000 0001 0060"})
    EXPECT_NE(error_from(hex(digits)).problem().find("no MIDI file"), std::string::npos) << digits;
  EXPECT_EQ(error_from(hex("")).problem(), "this file is empty");
  EXPECT_EQ(error_from(hex("52494646 00000000 57415645")).problem(),
            "this is a sound file, and a MIDI file belongs here");
}

TEST(Damage, Header) {
  expect_damage(hex("4D546864 00000006 0000 0001"), "cut off", 12);
  expect_damage(hex("4D546864 00000005 0000 0001 00"), "5 bytes instead of 6", 4);
  expect_damage(hex("4D546864 00000006 0000 0001 0000"), "division 0000", 12);
  expect_damage(hex("4D546864 00000006 0000 0001 E200"), "division E200", 12);
  expect_damage(hex("4D546864 00000006 0000 0001 E550"), "division E550", 12);
  expect_damage(hex("4D546864 00000006 0000 0001 0060"), "promises 1 tracks, the file has 0", 14);
}

TEST(Damage, FewerTracksThanPromised) {
  Bytes bytes = midi_file({kEnd, kEnd});
  bytes[11] = 3;
  expect_damage(bytes, "promises 3 tracks, the file has 2", bytes.size());
}

TEST(Damage, Events) {
  expect_damage(midi_file({"00 3C 40" + kEnd}), "status byte belongs", kTrack + 1);
  expect_damage(midi_file({"00 90 3C 80" + kEnd}), "80 for a data byte", kTrack + 1);
  expect_damage(midi_file({"00 F4 00" + kEnd}), "status byte F4", kTrack + 1);
  expect_damage(midi_file({"00 F8 00" + kEnd}), "status byte F8", kTrack + 1);
  expect_damage(midi_file({"81 80 80 80 00 90 3C 40" + kEnd}), "more than four bytes", kTrack);
  expect_damage(midi_file({"00 90 3C"}), "cut off", kTrack + 3);
  expect_damage(midi_file({"00 FF 01 05 41"}), "cut off", kTrack + 5);
  expect_damage(midi_file({"00 90 3C 40"}), "without its end-of-track", kTrack + 4);
  expect_damage(midi_file({""}), "without its end-of-track", kTrack);
}

// Meta events and system exclusive cancel running status (SMF 1.0).
TEST(Damage, RunningStatusAfterMetaOrSysex) {
  expect_damage(midi_file({"00 90 3C 40 00 FF 01 00 00 3C 00" + kEnd}), "status byte belongs", kTrack + 9);
  expect_damage(midi_file({"00 90 3C 40 00 F0 01 F7 00 3C 00" + kEnd}), "status byte belongs", kTrack + 9);
}

TEST(Damage, AChunkLongerThanTheFile) {
  Bytes bytes = midi_file({"00 90 3C 40 60 3C 00" + kEnd});
  bytes[21] = 200;
  expect_damage(bytes, "ends within a chunk of 200 bytes", bytes.size());
}

TEST(Odd, WhatTheStandardAllowsIsRead) {
  const std::string note = "00 90 3C 40 60 3C 00";
  // A longer header; an unknown chunk of odd length before the track; unknown metas of any length.
  Bytes bytes = hex("4D546864 00000009 0000 0001 0060 AABBCC");
  testing::append(bytes, testing::chunk("XFIH", hex("01 02 03")));
  testing::append(bytes, testing::chunk("MTrk", hex("00 FF 7F 02 AA BB 00 FF 60 00" + note + kEnd)));
  const Score score = score_from(bytes);
  EXPECT_EQ(score.notes.size(), 1u);
  EXPECT_TRUE(score.remarks.empty());
}

TEST(Odd, WhatComesAfterTheEndIsSaid) {
  const Score in_track = score_from(midi_file({kEnd + "00 90 3C 40"}));
  ASSERT_EQ(in_track.remarks.size(), 1u);
  EXPECT_NE(in_track.remarks[0].find("4 bytes after the end of track 1"), std::string::npos);
  EXPECT_TRUE(in_track.notes.empty());

  Bytes trailing = midi_file({kEnd});
  trailing.resize(trailing.size() + 5);
  EXPECT_EQ(score_from(trailing).remarks.size(), 1u);
  trailing.resize(trailing.size() + 500);
  EXPECT_EQ(score_from(trailing).remarks.size(), 1u);
}

TEST(Odd, MoreTracksThanPromisedAreAllRead) {
  Bytes bytes = midi_file({"00 90 3C 40 60 3C 00" + kEnd, "00 90 3E 40 60 3E 00" + kEnd});
  bytes[11] = 1;
  const Score score = score_from(bytes);
  EXPECT_EQ(score.notes.size(), 2u);
  EXPECT_EQ(score.remarks.size(), 1u);
}

TEST(Odd, ARiffContainerIsOpened) {
  const Bytes inner = midi_file({"00 90 3C 40 60 3C 00" + kEnd});
  const auto little_endian = [](std::size_t n) {
    return Bytes{static_cast<std::uint8_t>(n), static_cast<std::uint8_t>(n >> 8), 0, 0};
  };
  Bytes riff = hex("52494646");
  testing::append(riff, little_endian(inner.size() + 12));
  testing::append(riff, hex("524D4944 64617461"));
  testing::append(riff, little_endian(inner.size()));
  testing::append(riff, inner);
  EXPECT_EQ(score_from(riff).notes.size(), 1u);
}

Bytes bundled_song() {
  std::ifstream file(BURSTLOOM_SAMPLES "/quayside-lanterns.mid", std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

bool starts_like(const Note& a, const Note& b) {
  return a.start_s == b.start_s && a.key == b.key && a.velocity == b.velocity && a.channel == b.channel;
}

// Every truncation is one clear error; salvaged, it gives notes of the whole song and says that it is
// damaged.
TEST(Salvage, OfEveryTruncationOfASong) {
  const Bytes whole = bundled_song();
  const Score all = score_from(whole);
  ASSERT_EQ(all.notes.size(), 314u);
  std::size_t most = 0;
  for (std::size_t length = 0; length < whole.size(); ++length) {
    const Bytes cut(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length));
    EXPECT_EQ(error_from(cut).fault(), Fault::bad_input) << length;
    if (length < kTrack) continue;  // no track has begun: nothing to salvage
    const Score salvaged = score_from(cut, {.salvage = true});
    ASSERT_FALSE(salvaged.remarks.empty()) << length;
    EXPECT_NE(salvaged.remarks[0].find("salvaged"), std::string::npos) << length;
    EXPECT_GE(salvaged.notes.size(), most) << length;
    most = salvaged.notes.size();
    for (const Note& note : salvaged.notes)
      ASSERT_TRUE(std::any_of(all.notes.begin(), all.notes.end(), [&](const Note& other) {
        return starts_like(note, other);
      })) << length;
  }
  EXPECT_EQ(most, all.notes.size());
}

// Linear and bounded whatever the bytes: never more events than bytes, and only Errors.
TEST(Mutants, AreReadOrRefused) {
  const Bytes whole = bundled_song();
  std::uint64_t state = 20261125;
  const auto below = [&](std::size_t limit) {
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return static_cast<std::size_t>(state % limit);
  };
  int read = 0, refused = 0;
  for (int round = 0; round < 4000; ++round) {
    Bytes mutant = whole;
    for (std::size_t i = 1 + below(6); i > 0; --i) {
      const std::size_t at = below(mutant.size());
      const auto here = mutant.begin() + static_cast<std::ptrdiff_t>(at);
      switch (below(4)) {
        case 0:
          mutant[at] ^= static_cast<std::uint8_t>(1u << below(8));
          break;
        case 1:
          mutant[at] = static_cast<std::uint8_t>(below(256));
          break;
        case 2:
          mutant.erase(here);
          break;
        default:
          mutant.insert(here, static_cast<std::uint8_t>(below(256)));
          break;
      }
    }
    for (const bool salvage : {false, true}) try {
        const MidiFile midi = parse_midi(mutant, "mutant", {.salvage = salvage});
        std::size_t events = 0;
        for (const MidiTrack& track : midi.tracks) events += track.events.size();
        ASSERT_LE(events, mutant.size());
        const Score score = score_of(midi, "");
        for (const Note& note : score.notes) {
          ASSERT_LE(note.start_s, note.end_s);
          ASSERT_LE(note.end_s, score.length_s);
        }
        ++read;
      } catch (const Error& error) {
        ASSERT_EQ(error.fault(), Fault::bad_input);
        ++refused;
      }
  }
  EXPECT_GT(read, 1000);
  EXPECT_GT(refused, 1000);
}

// Notes written by a writer of the test's own, with running status where it can be, are read back.
RC_GTEST_PROP(RoundTrip, OfRandomNotes, ()) {
  struct Event {
    std::uint32_t tick;
    int status, key, velocity;
  };
  std::vector<Event> events;
  std::vector<Note> expected;
  std::array<std::uint32_t, 16 * 128> free_from{};
  for (int i = *rc::gen::inRange(0, 60); i > 0; --i) {
    const int channel = *rc::gen::inRange(0, 9), key = *rc::gen::inRange(0, 128),
              velocity = *rc::gen::inRange(1, 128);
    auto& free = free_from[static_cast<std::size_t>(channel * 128 + key)];
    const std::uint32_t start = free + *rc::gen::inRange<std::uint32_t>(0, 400);
    const std::uint32_t end = start + *rc::gen::inRange<std::uint32_t>(1, 20000);
    free = end + 1;
    events.push_back({start, 0x90 | channel, key, velocity});
    events.push_back({end, 0x80 | channel, key, *rc::gen::inRange(0, 128)});
    expected.push_back({start / 192.0, end / 192.0, static_cast<double>(key), velocity / 127.0, channel, 0});
  }
  std::stable_sort(events.begin(), events.end(),
                   [](const Event& a, const Event& b) { return a.tick < b.tick; });
  Bytes track;
  std::uint32_t now = 0;
  int running = 0;
  for (const Event& event : events) {
    const std::uint32_t delta = event.tick - now;
    now = event.tick;
    for (int shift = 21; shift > 0; shift -= 7)
      if (delta >> shift) track.push_back(static_cast<std::uint8_t>(0x80 | (delta >> shift & 0x7F)));
    track.push_back(static_cast<std::uint8_t>(delta & 0x7F));
    if (event.status != running) track.push_back(static_cast<std::uint8_t>(event.status));
    running = event.status;
    track.push_back(static_cast<std::uint8_t>(event.key));
    track.push_back(static_cast<std::uint8_t>(event.velocity));
  }
  testing::append(track, hex(kEnd));
  Bytes file = hex("4D546864 00000006 0000 0001 0060");
  testing::append(file, testing::chunk("MTrk", track));
  const auto in_order = [](const Note& a, const Note& b) {
    return std::tie(a.start_s, a.key, a.channel) < std::tie(b.start_s, b.key, b.channel);
  };
  std::vector<Note> read = score_from(file).notes;
  RC_ASSERT(std::is_sorted(read.begin(), read.end(), [](const Note& a, const Note& b) {
    return std::tie(a.start_s, a.key) < std::tie(b.start_s, b.key);
  }));
  std::sort(read.begin(), read.end(), in_order);
  std::sort(expected.begin(), expected.end(), in_order);
  RC_ASSERT(read == expected);
}

}  // namespace
}  // namespace burstloom
