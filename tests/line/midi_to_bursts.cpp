// Each kind of MIDI message, from its bytes to the bursts it makes: 96 ticks a quarter note at 120 a minute,
// so that hexadecimal 60 is half a second. What messages say: MIDI 1.0 as in the Standard MIDI File text,
// appendix 1.
#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "score/support.hpp"

namespace burstloom {
namespace {

using testing::kEnd;

Profile wide_profile() {
  Profile profile;
  profile.name = "wide";
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 2;
  profile.limits.on_time_max_us = 100;
  profile.limits.gap_us = 10;
  profile.limits.duty = {{1000, 100}};
  return profile;
}

std::vector<WantedBurst> bursts_of(const std::string& track) {
  return wanted_from_score(testing::score_from(testing::midi_file({track + kEnd}, 0)), wide_profile(), {})
      .bursts;
}

// Bursts a second and mean on-time (us) between two moments.
struct Heard {
  double hz = 0, on_us = 0;
};
Heard between(const std::vector<WantedBurst>& bursts, double from_s, double until_s) {
  std::vector<double> at, on;
  for (const WantedBurst& burst : bursts) {
    const double start_s = static_cast<double>(burst.start) / 2e6;
    if (start_s < from_s || start_s >= until_s) continue;
    at.push_back(start_s);
    on.push_back(static_cast<double>(burst.on) / 2);
  }
  if (at.size() < 2) return {};
  return {static_cast<double>(at.size() - 1) / (at.back() - at.front()),
          std::accumulate(on.begin(), on.end(), 0.0) / static_cast<double>(on.size())};
}

// A4 for two seconds, from 0 or from where `before` ends.
const std::string kOn = "00 90 45 64 ", kOff = "83 00 80 45 40 ";

TEST(MidiToBursts, NoteOnAndOff) {
  const auto bursts = bursts_of(kOn + kOff);
  EXPECT_NEAR(between(bursts, 0, 2).hz, 440, 0.5);
  EXPECT_EQ(between(bursts, 2, 9).hz, 0);
}

TEST(MidiToBursts, PitchBend) {
  EXPECT_NEAR(between(bursts_of("00 E0 00 00 " + kOn + kOff), 0, 2).hz, 391.995, 0.5);  // -2 semitones
  EXPECT_NEAR(between(bursts_of("00 E0 00 60 " + kOn + kOff), 0, 2).hz, 466.164, 0.5);  // +1
  const auto bent = bursts_of(kOn + "60 E0 00 60 81 20 80 45 40 ");                     // at half a second
  EXPECT_NEAR(between(bent, 0, 0.5).hz, 440, 1);
  EXPECT_NEAR(between(bent, 0.5, 2).hz, 466.164, 1);
}

TEST(MidiToBursts, BendRangeAndTuning) {
  EXPECT_NEAR(between(bursts_of("00 B0 65 00 00 64 00 00 06 0C 00 E0 00 00 " + kOn + kOff), 0, 2).hz, 220,
              0.5);
  EXPECT_NEAR(between(bursts_of("00 B0 65 00 00 64 01 00 06 60 " + kOn + kOff), 0, 2).hz, 452.893,
              0.5);  // +50 cents
  EXPECT_NEAR(between(bursts_of("00 B0 65 00 00 64 02 00 06 34 " + kOn + kOff), 0, 2).hz, 220, 0.5);
}

TEST(MidiToBursts, ModulationAndPressureAreVibrato) {
  const auto widest = [](const std::vector<WantedBurst>& bursts) {
    double least = 1e9, most = 0;
    for (double t = 0; t < 1.9; t += 0.02) {
      const double hz = between(bursts, t, t + 0.04).hz;
      least = std::min(least, hz);
      most = std::max(most, hz);
    }
    return 1200 * std::log2(most / least);
  };
  EXPECT_LT(widest(bursts_of(kOn + kOff)), 5);
  EXPECT_NEAR(widest(bursts_of("00 B0 01 7F " + kOn + kOff)), 100,
              20);  // 50 cents to each side, less what 40 ms even out
  EXPECT_NEAR(widest(bursts_of("00 D0 7F " + kOn + kOff)), 100, 20);
}

TEST(MidiToBursts, VelocityVolumeAndExpressionShortenBursts) {
  const double loud = between(bursts_of("00 90 45 7F " + kOff), 0, 2).on_us;
  for (const std::string& track :
       {"00 90 45 40 " + kOff, "00 B0 07 32 00 90 45 7F " + kOff, "00 B0 0B 40 00 90 45 7F " + kOff}) {
    const double soft = between(bursts_of(track), 0, 2).on_us;
    EXPECT_LT(soft, 0.8 * loud) << track;
    EXPECT_GT(soft, 0.3 * loud) << track;
  }
  EXPECT_EQ(between(bursts_of("00 B0 07 00 " + kOn + kOff), 0, 2).hz, 0);
}

TEST(MidiToBursts, PedalsHold) {
  const std::string let_go = "60 80 45 40 ";  // after half a second
  EXPECT_EQ(between(bursts_of(kOn + let_go), 0.55, 2).hz, 0);
  EXPECT_NEAR(between(bursts_of("00 B0 40 7F " + kOn + let_go + "60 B0 40 00 "), 0.55, 2).hz, 440, 2);
  EXPECT_NEAR(between(bursts_of(kOn + "00 B0 42 7F " + let_go + "60 B0 42 00 "), 0.55, 2).hz, 440, 2);
  EXPECT_EQ(between(bursts_of("00 B0 40 7F " + kOn + let_go + "60 B0 40 00 "), 1.01, 2).hz, 0);
}

TEST(MidiToBursts, AllSoundOffAllNotesOffAndReset) {
  for (const char* off : {"78 00 ", "7B 00 "})
    EXPECT_EQ(between(bursts_of(kOn + "60 B0 " + std::string(off) + "60 80 45 40 "), 0.51, 2).hz, 0) << off;
  EXPECT_NEAR(between(bursts_of("00 E0 00 00 00 B0 79 00 " + kOn + kOff), 0, 2).hz, 440, 0.5);
}

TEST(MidiToBursts, ProgramsDieAwayOrHold) {
  const auto piano = bursts_of("00 C0 00 " + kOn + kOff), organ = bursts_of("00 C0 10 " + kOn + kOff);
  EXPECT_LT(between(piano, 1.5, 2).on_us, 0.8 * between(piano, 0, 0.2).on_us);
  EXPECT_NEAR(between(organ, 1.5, 2).on_us, between(organ, 0, 0.2).on_us, 0.6);
}

TEST(MidiToBursts, PercussionIsShortGestures) {
  for (const char* key : {"24 ", "26 ", "2A ", "2D ", "31 "}) {  // kick, snare, closed hat, tom, crash
    const auto bursts =
        bursts_of(std::string("00 99 ") + key + "64 30 89 " + key + "40 81 40 90 45 64 60 80 45 40 ");
    EXPECT_GT(between(bursts, 0, 0.2).hz, 20) << key;
    EXPECT_EQ(between(bursts, 1.0, 1.2).hz, 0) << key;
  }
}

TEST(MidiToBursts, TempoAndFormat2AndSmpte) {
  EXPECT_NEAR(between(bursts_of("00 FF 51 03 0F 42 40 " + kOn + "60 80 45 40 "), 0.55, 1).hz, 440,
              2);  // a second a quarter
  const Score patterns = testing::score_from(
      testing::midi_file({kOn + "60 80 45 40 " + kEnd, "00 90 51 64 60 80 51 40 " + kEnd}, 2));
  const auto bursts = wanted_from_score(patterns, wide_profile(), {}).bursts;
  EXPECT_NEAR(between(bursts, 0, 0.5).hz, 440, 2);
  EXPECT_NEAR(between(bursts, 0.5, 1).hz, 880, 3);
  // 25 frames of 40 ticks: a tick is a millisecond.
  const Score smpte = testing::score_from(testing::midi_file({kOn + "83 74 80 45 40 " + kEnd}, 0, 0xE728));
  EXPECT_NEAR(smpte.notes.at(0).end_s, 0.5, 1e-9);
}

}  // namespace
}  // namespace burstloom
