#include <gtest/gtest.h>

#include <random>

#include "burstloom/common/error.hpp"
#include "tones.hpp"

namespace burstloom::test {
namespace {

/// Every voiced point away from the ends, and that there are as many as frames.
double worst_cents(const PitchTrack& track, double length_s, double hz) {
  double worst = 0;
  int seen = 0;
  for (const PitchPoint& p : track.points) {
    if (p.at_s < 0.05 || p.at_s > length_s - 0.05) continue;
    EXPECT_TRUE(voiced(p)) << hz << " Hz at " << p.at_s << " s";
    if (!voiced(p)) return 1e9;
    worst = std::max(worst, std::abs(cents(p.hz, hz)));
    ++seen;
  }
  EXPECT_GE(seen, static_cast<int>((length_s - 0.1) / 0.005) - 1);
  return worst;
}

double key_to_hz(double key) {
  return 440.0 * std::exp2((key - 69.0) / 12.0);
}

// Equal temperament on A = 440 Hz (ISO 16): A1 55 Hz, A6 1760 Hz, C7 2093.005 Hz. The bound of 3 cents is our
// own.
TEST(FollowTones, SteadyTonesAreWithinThreeCentsFromA1ToC7) {
  for (const int rate : {8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000})
    for (double key = 33; key <= 96; key += 4.5) {
      const double hz = key_to_hz(key);
      EXPECT_LT(worst_cents(follow(sine(rate, 0.4, hz)), 0.4, hz), 3.0) << "sine " << hz << " at " << rate;
      EXPECT_LT(worst_cents(follow(harmonics(rate, 0.4, hz, 1, 24)), 0.4, hz), 3.0)
          << "rich " << hz << " at " << rate;
    }
  EXPECT_LT(worst_cents(follow(sine(44100, 0.4, key_to_hz(96))), 0.4, key_to_hz(96)), 3.0);
}

TEST(FollowTones, AMissingFundamentalIsHeard) {
  for (double key = 45; key <= 81; key += 3) {
    const double hz = key_to_hz(key);
    EXPECT_LT(worst_cents(follow(harmonics(44100, 0.4, hz, 2, 6)), 0.4, hz), 3.0) << hz;
    EXPECT_LT(worst_cents(follow(harmonics(44100, 0.4, hz / 2, 3, 7)), 0.4, hz / 2), 3.0) << hz / 2;
  }
}

TEST(FollowTones, NoiseTwentyDecibelsBelowCostsFewCents) {
  std::mt19937 random(5);
  std::normal_distribution<float> noise(0.0F, 0.035F);  // 20 dB below a sine of 0.5
  for (const double hz : {55.0, 110.0, 440.0, 1760.0}) {
    Sound sound = sine(44100, 1.0, hz);
    for (float& sample : sound.samples) sample += noise(random);
    EXPECT_LT(worst_cents(follow(sound), 1.0, hz), hz < 60 ? 30.0 : 15.0) << hz;
  }
}

TEST(FollowTones, ADyingToneKeepsItsPitch) {
  for (const double hz : {55.0, 220.0}) {
    const Sound sound =
        sampled(44100, 0.6, [=](double t) { return std::exp(-6.0 * t) * std::sin(two_pi * hz * t); });
    EXPECT_LT(worst_cents(follow(sound), 0.6, hz), 3.0) << hz;
  }
}

TEST(FollowTones, AnOffsetDoesNotMatter) {
  const Sound sound = sampled(44100, 0.5, [](double t) { return 0.4 + 0.1 * std::sin(two_pi * 220.0 * t); });
  EXPECT_LT(worst_cents(follow(sound), 0.5, 220.0), 3.0);
}

struct Slide {
  double from_hz, to_hz, octaves_a_second;
};

TEST(FollowTones, ASlideIsReadAtTheFramesCentre) {
  for (const Slide s : {Slide{55, 220, 0.5}, Slide{55, 220, 2}, Slide{220, 880, 1}, Slide{220, 880, 4},
                        Slide{880, 2100, 4}, Slide{880, 110, -2}}) {
    const double length_s = std::log2(s.to_hz / s.from_hz) / s.octaves_a_second;
    const double rate = s.octaves_a_second * std::numbers::ln2;
    const Sound sound = sampled(44100, length_s, [=](double t) {
      const double phase = two_pi * s.from_hz * std::expm1(rate * t) / rate;
      return 0.3 * (std::sin(phase) + 0.5 * std::sin(2 * phase) + 0.3 * std::sin(3 * phase));
    });
    double worst = 0;
    int seen = 0;
    for (const PitchPoint& p : follow(sound).points) {
      if (p.at_s < 0.05 || p.at_s > length_s - 0.05 || !voiced(p)) continue;
      worst = std::max(worst, std::abs(cents(p.hz, s.from_hz * std::exp(rate * p.at_s))));
      ++seen;
    }
    EXPECT_LT(worst, 15.0) << s.from_hz << " to " << s.to_hz;
    EXPECT_GE(seen, static_cast<int>((length_s - 0.1) / 0.005) - 1) << s.from_hz << " to " << s.to_hz;
  }
}

TEST(FollowTones, SilenceHasNoPitch) {
  EXPECT_EQ(voiced_points(follow(sampled(44100, 3.0, [](double) { return 0.0; }))), 0U);
  EXPECT_EQ(voiced_points(follow(sampled(44100, 3.0, [](double) { return 0.7; }))), 0U);
  EXPECT_EQ(voiced_points(follow(sine(44100, 3.0, 220.0, 0.0033))), 0U);    // -52.6 dBFS: below the gate
  EXPECT_GT(voiced_points(follow(sine(44100, 3.0, 220.0, 0.0080))), 590U);  // -45 dBFS: above it
}

// Levels are root mean square: 20 s of noise at -10, -30 and -45 dBFS, at rates with and without thinning.
TEST(FollowTones, WhiteNoiseHasNoPitch) {
  std::mt19937 random(11);
  std::normal_distribution<double> noise;
  for (const int rate : {8000, 22049, 44100})
    for (const double db : {-10.0, -30.0, -45.0}) {
      const double level = std::pow(10.0, db / 20.0);
      const Sound sound = sampled(rate, 20.0, [&](double) { return level * noise(random); });
      EXPECT_EQ(voiced_points(follow(sound)), 0U) << rate << " Hz, " << db << " dBFS";
    }
}

// In the band that is listened to, the noise has about a third of the power: no voice is that rough.
TEST(FollowTones, AToneDrownedInNoiseIsNotVoiced) {
  std::mt19937 random(12);
  std::normal_distribution<double> noise(0.0, 0.6);
  const Sound drowned =
      sampled(44100, 4.0, [&](double t) { return 0.5 * std::sin(two_pi * 330.0 * t) + noise(random); });
  EXPECT_LT(voiced_points(follow(drowned)), 80U);  // of 800
}

TEST(FollowTones, ABeepShorterThanFortyMillisecondsIsNotANote) {
  const auto beep = [](double length_s) {
    return sampled(44100, 1.0, [=](double t) {
      return t > 0.5 && t < 0.5 + length_s ? 0.5 * std::sin(two_pi * 880.0 * t) : 0.0;
    });
  };
  EXPECT_EQ(voiced_points(follow(beep(0.010))), 0U);
  EXPECT_GT(voiced_points(follow(beep(0.080))), 8U);
}

TEST(FollowTones, ANoteStartsAndEndsWhereItSounds) {
  for (const double hz : {82.4, 220.0, 880.0}) {
    const PitchTrack track = follow(sampled(
        44100, 1.5, [=](double t) { return t >= 0.5 && t < 1.0 ? 0.5 * std::sin(two_pi * hz * t) : 0.0; }));
    const auto first = std::find_if(track.points.begin(), track.points.end(), voiced);
    ASSERT_NE(first, track.points.end());
    const auto end = std::find_if(first, track.points.end(), [](const PitchPoint& p) { return !voiced(p); });
    ASSERT_NE(end, track.points.end());
    RecordProperty("onset_error_ms_at_" + std::to_string(static_cast<int>(hz)),
                   std::to_string((first->at_s - 0.5) * 1e3));
    EXPECT_NEAR(first->at_s, 0.5, 0.015) << hz;
    EXPECT_NEAR(end->at_s, 1.0, 0.015) << hz;
  }
}

TEST(FollowTones, AShortSlipOfAnOctaveIsRepairedAndALastingLeapIsFollowed) {
  // For 40 ms the odd harmonics fade, which sounds an octave up; the path must not follow.
  const Sound slip = sampled(44100, 1.0, [](double t) {
    const double odd = t > 0.50 && t < 0.54 ? 0.05 : 1.0;
    return 0.2 *
           (odd * std::sin(two_pi * 220 * t) + std::sin(two_pi * 440 * t) + odd * std::sin(two_pi * 660 * t));
  });
  EXPECT_LT(worst_cents(follow(slip), 1.0, 220.0), 20.0);
  const PitchTrack leap = follow(sampled(
      44100, 1.0, [](double t) { return 0.3 * std::sin(two_pi * (t < 0.5 ? 220.0 * t : 440.0 * t)); }));
  EXPECT_NEAR(hz_at(leap, 0.46), 220.0, 1.0);
  EXPECT_NEAR(hz_at(leap, 0.54), 440.0, 1.0);
}

TEST(FollowTones, StrengthFollowsTheRootOfTheLevelUnderTheLoudest) {
  const PitchTrack track = follow(
      sampled(44100, 2.0, [](double t) { return (t < 1.0 ? 0.8 : 0.08) * std::sin(two_pi * 330.0 * t); }));
  const auto strength = [&](double at_s) {
    return std::find_if(track.points.begin(), track.points.end(),
                        [=](const PitchPoint& p) { return p.at_s >= at_s; })
        ->strength;
  };
  EXPECT_NEAR(strength(0.5), 1.0, 0.02);
  EXPECT_NEAR(strength(1.5), std::sqrt(0.1), 0.02);
}

TEST(FollowTones, TracksEndUnvoicedInOrderAndAreTheSameTwice) {
  for (const double length_s : {0.0, 0.0001, 0.02, 0.5}) {
    const Sound sound = sine(44100, length_s, 440.0);
    const PitchTrack track = follow(sound), again = follow(sound);
    ASSERT_FALSE(track.points.empty());
    EXPECT_EQ(track.points.back().hz, 0.0);
    EXPECT_DOUBLE_EQ(track.points.back().at_s, sound.length_s());
    ASSERT_EQ(track.points.size(), again.points.size());
    for (std::size_t i = 0; i < track.points.size(); ++i) {
      EXPECT_EQ(track.points[i].at_s, again.points[i].at_s);
      EXPECT_EQ(track.points[i].hz, again.points[i].hz);
      EXPECT_TRUE(i == 0 || track.points[i - 1].at_s < track.points[i].at_s);
    }
  }
}

TEST(FollowTones, SamplesThatAreNoNumbersCountAsSilence) {
  Sound sound = sine(44100, 1.0, 220.0);
  sound.samples[20000] = std::nanf("");
  sound.samples[20001] = INFINITY;
  sound.samples[20002] = 3e38F;
  EXPECT_NEAR(hz_at(follow(sound), 0.3), 220.0, 0.5);
  EXPECT_NEAR(hz_at(follow(sound), 0.7), 220.0, 0.5);
  for (const PitchPoint& p : follow(sound).points)
    EXPECT_TRUE(std::isfinite(p.hz) && std::isfinite(p.strength));
}

TEST(FollowTones, ASoundWithoutARateIsRefused) {
  Sound sound = sine(44100, 0.1, 220.0);
  sound.rate_hz = 0;
  EXPECT_THROW((void)listen_follow(sound), Error);
  EXPECT_THROW((void)listen_edges(sound), Error);
}

}  // namespace
}  // namespace burstloom::test
