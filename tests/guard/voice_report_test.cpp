// The account of each voice, by hand.
#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/guard/voice_report.hpp"

namespace burstloom {
namespace {

TEST(VoiceReport, CountsMovesLossesAndJitter) {
  // Voice 4: bursts every 1000 ticks, one moved by 100, one gone. Voice 1: one burst of each of two notes.
  Guarded guarded;
  guarded.stream.bursts = {{0, 10}, {1100, 10}, {2000, 10}, {2500, 10}, {4000, 10}, {4550, 10}};
  guarded.wanted_of = {0, 1, 2, 5, 4, 6};
  guarded.note_of = {7, 7, 7, 8, 7, 9};
  guarded.voice_of = {4, 4, 4, 1, 4, 1};
  const auto changed = [](std::uint32_t wanted, Tick wanted_start, Tick start, std::uint32_t note, Fate fate,
                          std::uint16_t voice) {
    return LedgerEntry{.wanted = wanted,
                       .note = note,
                       .wanted_start = wanted_start,
                       .wanted_on = 10,
                       .start = start,
                       .on = fate == Fate::dropped ? 0 : 10,
                       .fate = fate,
                       .voice = voice};
  };
  guarded.ledger.wanted = 7;
  guarded.ledger.entries = {changed(1, 1000, 1100, 7, Fate::shifted, 4),
                            changed(3, 3000, 0, 7, Fate::dropped, 4),
                            changed(6, 4500, 4550, 9, Fate::shifted, 1)};
  const auto reports = report_voices(guarded);
  ASSERT_EQ(reports.size(), 2u);
  EXPECT_EQ(reports[0].voice, 1);
  EXPECT_EQ(reports[0].wanted, 2);
  EXPECT_EQ(reports[0].moved, 1);
  EXPECT_EQ(reports[0].jitter_cents, 0);  // its bursts are of two notes: no interval
  EXPECT_EQ(reports[1].voice, 4);
  EXPECT_EQ(reports[1].wanted, 5);
  EXPECT_EQ(reports[1].moved, 1);
  EXPECT_EQ(reports[1].dropped, 1);
  EXPECT_DOUBLE_EQ(reports[1].rms_move_us, std::sqrt(100 * 100 / 4.0) / 2);
  // Intervals of 1100 and 900 instead of 1000: -165.0 and +182.4 cents. None across the burst that is gone.
  EXPECT_NEAR(reports[1].jitter_cents, std::sqrt((165.004 * 165.004 + 182.404 * 182.404) / 2), 0.01);
}

TEST(VoiceReport, NothingWantedIsNoVoice) {
  EXPECT_TRUE(report_voices({}).empty());
}

}  // namespace
}  // namespace burstloom
