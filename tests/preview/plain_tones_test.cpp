#include "burstloom/preview/plain_tones.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

Score score_of_notes(std::vector<Note> notes) {
  Score score;
  score.notes = std::move(notes);
  for (const Note& note : score.notes) score.length_s = std::max(score.length_s, note.end_s);
  return score;
}

// Size of the sound's component at `hz` between two moments.
double component(const Sound& sound, double hz, double from_s, double until_s) {
  std::complex<double> sum = 0;
  const auto from = static_cast<std::size_t>(from_s * sound.rate_hz),
             until = static_cast<std::size_t>(until_s * sound.rate_hz);
  for (std::size_t i = from; i < until; ++i)
    sum += static_cast<double>(sound.samples[i]) *
           std::polar(1.0, -2 * std::numbers::pi * hz * static_cast<double>(i) / sound.rate_hz);
  return 2 * std::abs(sum) / static_cast<double>(until - from);
}

TEST(PlainTones, SoundAtTheirPitchAndInTheirTime) {
  const Sound sound = plain_tones(
      score_of_notes({{.start_s = 0.5, .end_s = 1.5, .key = 69}, {.start_s = 2, .end_s = 3, .key = 81}}));
  EXPECT_GT(component(sound, 440, 0.6, 1.4), 0.3);
  EXPECT_NEAR(component(sound, 880, 0.6, 1.4) / component(sound, 440, 0.6, 1.4), 0.5, 0.01);
  EXPECT_LT(component(sound, 466.16, 0.6, 1.4), 0.01);
  EXPECT_GT(component(sound, 880, 2.1, 2.9), 0.3);
  EXPECT_LT(component(sound, 440, 2.1, 2.9), 0.01);
  EXPECT_EQ(component(sound, 440, 0, 0.49), 0);
  EXPECT_EQ(component(sound, 440, 1.6, 1.9), 0);
}

TEST(PlainTones, FollowTheSquareOfVelocity) {
  const Sound sound = plain_tones(score_of_notes({{.start_s = 0, .end_s = 1, .key = 60, .velocity = 1.0},
                                                  {.start_s = 2, .end_s = 3, .key = 60, .velocity = 0.5}}));
  const double hz = key_hz(60);
  EXPECT_NEAR(20 * std::log10(component(sound, hz, 2.1, 2.9) / component(sound, hz, 0.1, 0.9)),
              40 * std::log10(0.5), 0.1);
}

TEST(PlainTones, KeepUnderFullScaleAndBelowHalfTheRate) {
  std::vector<Note> notes;
  for (int key = 0; key < 128; key += 4)
    notes.push_back({.start_s = 0, .end_s = 0.5, .key = static_cast<double>(key)});
  for (const float sample : plain_tones(score_of_notes(notes), 8'000).samples)
    EXPECT_LE(std::abs(sample), 0.9001f);
  EXPECT_THROW((void)plain_tones(score_of_notes(notes), 96'000), Error);
  EXPECT_TRUE(plain_tones(Score{}).samples.size() < 44'100u);
}

// A train of 200 bursts a second: harmonics of 200 Hz that fall, louder for longer bursts.
TEST(BurstTones, HaveTheTrainsPitch) {
  BurstStream stream{2'000'000, 4'000'000, {}};
  for (Tick at = 0; at + 80 < stream.length; at += 10'000)
    stream.bursts.push_back({at, at < 2'000'000 ? 40 : 80});
  const Sound sound = burst_tones(stream);
  EXPECT_NEAR(sound.length_s(), 2, 0.001);
  EXPECT_GT(component(sound, 200, 0.1, 0.9), component(sound, 400, 0.1, 0.9));
  EXPECT_GT(component(sound, 400, 0.1, 0.9), component(sound, 800, 0.1, 0.9));
  EXPECT_LT(component(sound, 300, 0.1, 0.9), 0.01 * component(sound, 200, 0.1, 0.9));
  EXPECT_NEAR(component(sound, 200, 1.1, 1.9) / component(sound, 200, 0.1, 0.9), 2, 0.02);
}

}  // namespace
}  // namespace burstloom
