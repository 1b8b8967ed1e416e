#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <random>

#include "tones.hpp"

namespace burstloom::test {
namespace {

double worst_spacing_error(const std::vector<Moment>& moments, double from_s, double period_s) {
  double worst = 0;
  for (std::size_t i = 1; i < moments.size(); ++i)
    if (moments[i - 1].at_s > from_s)
      worst = std::max(worst, std::abs(moments[i].at_s - moments[i - 1].at_s - period_s));
  return worst;
}

// 440 Hz (A4, ISO 16) for 10 s is 4400 periods. Linear interpolation between samples at 44.1 kHz errs by less
// than 0.1 us on this tone; rounding to samples would err by up to 22.7 us.
TEST(Edges, ASineFiresOnceAPeriod) {
  const std::vector<Moment> moments = edges(sine(44100, 10.0, 440.0));
  EXPECT_NEAR(static_cast<double>(moments.size()), 4400.0, 1.0);
  EXPECT_LT(worst_spacing_error(moments, 0.2, 1.0 / 440.0), 0.2e-6);
  EXPECT_NEAR((moments.back().at_s - moments[100].at_s) / static_cast<double>(moments.size() - 101),
              1.0 / 440.0, 1e-9);
}

TEST(Edges, TonesFireAtTheirPitchAtEveryRate) {
  for (const int rate : {8000, 22050, 44100, 48000, 96000, 192000})
    for (const double hz : {82.4, 220.0, 880.0, 1760.0})
      EXPECT_NEAR(static_cast<double>(edges(sine(rate, 2.0, hz)).size()), 2.0 * hz, 1.0)
          << hz << " at " << rate;
}

// The ripple crosses zero many times a period, but never spans the distance between the thresholds.
TEST(Edges, HarmonicsThatStayBetweenTheThresholdsDoNotFire) {
  const Sound sound = sampled(44100, 2.0, [](double t) {
    return 0.5 * std::sin(two_pi * 220 * t) + 0.12 * std::sin(two_pi * 4400 * t);
  });
  // The running level needs a few periods to rise, and the thresholds with it.
  const std::vector<Moment> moments = edges(sound);
  const auto settled =
      std::count_if(moments.begin(), moments.end(), [](const Moment& m) { return m.at_s > 0.1; });
  EXPECT_NEAR(static_cast<double>(settled), 1.9 * 220.0, 1.0);
}

TEST(Edges, SilenceRumbleAndOffsetsDoNotFire) {
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0.0, 0.002);  // -54 dBFS
  EXPECT_TRUE(edges(sampled(44100, 2.0, [](double) { return 0.0; })).empty());
  EXPECT_TRUE(edges(sampled(44100, 2.0, [&](double) { return noise(random); })).empty());
  EXPECT_TRUE(edges(sine(44100, 2.0, 440.0, 0.004)).empty());                    // -51 dBFS
  EXPECT_FALSE(edges(sine(44100, 2.0, 440.0, 0.005)).empty());                   // -49 dBFS
  EXPECT_LE(edges(sampled(44100, 2.0, [](double) { return 0.5; })).size(), 1U);  // its onset is an edge
  EXPECT_LE(edges(sine(44100, 2.0, 3.0, 0.5)).size(), 1U);  // 52 dB down through the high-pass
}

TEST(Edges, APeriodIsNeverLongerThanTheHighPassLets) {
  const std::vector<Moment> moments = edges(sampled(
      44100, 3.0, [](double t) { return t < 1.0 || t > 2.0 ? 0.5 * std::sin(two_pi * 440 * t) : 0.0; }));
  ASSERT_GT(moments.size(), 800U);
  EXPECT_DOUBLE_EQ(moments.front().period_s, 1.0 / 60.0);
  for (std::size_t i = 1; i < moments.size(); ++i)
    EXPECT_DOUBLE_EQ(moments[i].period_s, std::min(1.0 / 60.0, moments[i].at_s - moments[i - 1].at_s));
}

TEST(Edges, StrengthIsTheRootOfTheLevelUnderTheLoudest) {
  const std::vector<Moment> moments = edges(
      sampled(44100, 2.0, [](double t) { return (t < 1.0 ? 0.9 : 0.09) * std::sin(two_pi * 440 * t); }));
  const auto strength = [&](double at_s) {
    return std::find_if(moments.begin(), moments.end(), [=](const Moment& m) { return m.at_s > at_s; })
        ->strength;
  };
  EXPECT_NEAR(strength(0.5), 1.0, 0.02);
  EXPECT_NEAR(strength(1.5), std::sqrt(0.1), 0.02);
}

RC_GTEST_PROP(Edges, MomentsAreInOrderInsideTheSoundAndAtMostOneInTwoSamples, ()) {
  Sound sound;
  sound.rate_hz = *rc::gen::inRange(8000, 192001);
  const std::vector<int> raw = *rc::gen::container<std::vector<int>>(rc::gen::inRange(-32768, 32768));
  for (int copies = 0; copies < 20; ++copies)
    for (const int sample : raw) sound.samples.push_back(static_cast<float>(sample) / 32768.0F);
  const std::vector<Moment> moments = edges(sound);
  RC_ASSERT(2 * moments.size() <= sound.samples.size() + 1);
  for (std::size_t i = 0; i < moments.size(); ++i) {
    RC_ASSERT(moments[i].at_s >= 0 && moments[i].at_s <= sound.length_s());
    RC_ASSERT(moments[i].strength > 0 && moments[i].strength <= 1);
    RC_ASSERT(moments[i].period_s > 0);
  }
  // RC_ASSERT takes expressions apart, so || does not stop early in it.
  for (std::size_t i = 1; i < moments.size(); ++i) RC_ASSERT(moments[i].at_s > moments[i - 1].at_s);
}

TEST(Edges, AnAlternatingSoundFiresEveryOtherSample) {
  int sign = 1;
  const Sound sound = sampled(44100, 0.1, [&](double) { return 0.5 * (sign = -sign); });
  const std::size_t count = edges(sound).size();
  EXPECT_GT(count, 2100U);
  EXPECT_LE(2 * count, sound.samples.size() + 1);
}

TEST(Ways, NotesAreTheDefaultAndNamesAreUnique) {
  const std::vector<WayOfListening>& ways = ways_of_listening();
  ASSERT_EQ(ways.size(), 3U);
  EXPECT_STREQ(ways[0].name, "notes");
  EXPECT_STREQ(ways[1].name, "follow");
  EXPECT_STREQ(ways[2].name, "edges");
  const Sound sound = sine(44100, 0.3, 440.0);
  EXPECT_TRUE(std::holds_alternative<Score>(ways[0].listen(HeldSound(sound))));
  EXPECT_TRUE(std::holds_alternative<PitchTrack>(ways[1].listen(HeldSound(sound))));
  EXPECT_TRUE(std::holds_alternative<Moments>(ways[2].listen(HeldSound(sound))));
}

}  // namespace
}  // namespace burstloom::test
