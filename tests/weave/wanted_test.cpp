// Notes, moments and pitch tracks into wanted bursts.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/weave/weave.hpp"
#include "plain.hpp"

namespace burstloom {
namespace {

using testing::held;
using testing::plain_profile;

std::vector<WantedBurst> bursts_of(const Score& score, const WeaveOptions& options = {}) {
  return wanted_from_score(score, plain_profile(), options).bursts;
}

// 440 Hz for a minute (A = 440 Hz: ISO 16).
TEST(Wanted, AHeldA4Gives26400BurstsAMinute) {
  EXPECT_NEAR(static_cast<double>(bursts_of(held(69, 60)).size()), 26'400, 1);
}

// Design, section 3: off by less than a tick after ten minutes.
TEST(Wanted, PhaseIsExactAfterTenMinutes) {
  for (const std::int64_t tick_hz : {1'000'000, 2'000'000, 16'000'000})
    for (const double key : {24.0, 48.0, 60.5, 69.0, 83.3, 96.0}) {
      const auto bursts = bursts_of(held(key, 600), {.tick_hz = tick_hz});
      const long double hz = 440.0L * std::exp2((static_cast<long double>(key) - 69) / 12);
      const long double period = static_cast<long double>(tick_hz) / hz;
      ASSERT_NEAR(static_cast<double>(bursts.size()), static_cast<double>(600 * hz), 1);
      long double worst = 0;
      for (std::size_t i = 0; i < bursts.size(); ++i)
        worst = std::max(worst, std::abs(static_cast<long double>(bursts[i].start) -
                                         static_cast<long double>(i) * period));
      EXPECT_LT(worst, 1.0L) << key << " at " << tick_hz;
    }
}

TEST(Wanted, TrainsStartWithTheirNotes) {
  Score score;
  score.notes = {{0.25, 0.5, 69, 1}, {0.333333, 0.5, 45, 1}};
  score.length_s = 1;
  const auto wanted = wanted_from_score(score, plain_profile(), {});
  EXPECT_EQ(wanted.length, 2'000'000);
  std::vector<Tick> firsts(2, -1);
  for (const WantedBurst& burst : wanted.bursts)
    if (firsts[burst.note] < 0) firsts[burst.note] = burst.start;
  EXPECT_EQ(firsts[0], 500'000);
  EXPECT_GE(firsts[1], 666'666);  // it may wait for the moment when it collides least
  EXPECT_LE(firsts[1], 666'666 + 2'000'000 * kLatestOnset_s);
  EXPECT_EQ(wanted.notes.read, 2);
  EXPECT_EQ(wanted.notes.played, 2);
}

TEST(Wanted, TheMelodyWeighsMostAndCapsFollowThePeriod) {
  Score score;
  score.notes = {{0, 1, 45, .7}, {0, 1, 57, .7}, {0, 1, 69, .7}};
  std::uint32_t weight[3] = {};
  for (const WantedBurst& burst : bursts_of(score, {.cap_of_period = 0.1})) {
    weight[burst.note] = burst.weight;
    EXPECT_NEAR(static_cast<double>(burst.cap), 0.1 * 2e6 / key_hz(score.notes[burst.note].key), 1);
  }
  EXPECT_GT(weight[2], weight[0]);
  EXPECT_GT(weight[0], weight[1]);
  EXPECT_GE(weight[1], 1u);
  EXPECT_LE(weight[2], kHeaviest);
}

TEST(Wanted, OnTimeFollowsVelocityAndRate) {
  const Profile profile = plain_profile();
  const auto on = [&](double velocity, double hz) { return on_time_for(velocity, hz, profile, 2'000'000); };
  EXPECT_EQ(on(1, 220), 100);  // the longest: 50 us
  EXPECT_EQ(on(1, 55), 100);
  EXPECT_EQ(on(0, 440), 8);  // the shortest: 4 us
  // No model: energy as the cube of the on-time. Eight times the rate, an eighth of the energy, half the
  // on-time.
  EXPECT_NEAR(static_cast<double>(on(1, 1760)), 50, 1);
  EXPECT_NEAR(static_cast<double>(on(0.5, 220)), 100 * std::pow(0.5, 4.0 / 3), 1);
  for (double v = 0; v < 1; v += 0.01) EXPECT_LE(on(v, 300), on(v + 0.01, 300));
  for (double hz = 20; hz < 5000; hz *= 1.1) EXPECT_GE(on(0.8, hz), on(0.8, hz * 1.1));
  EXPECT_EQ(on(7, 220), 100);
  EXPECT_EQ(on(-7, 220), 8);
}

TEST(Wanted, NoBurstIsLongerThanHalfItsPeriod) {
  Profile profile = plain_profile();
  profile.limits.on_time_max_us = 4000;
  for (double hz = 30; hz < 5000; hz *= 1.3)
    EXPECT_LE(static_cast<double>(on_time_for(1, hz, profile, 2'000'000)), 1e6 / hz + 1);
}

TEST(Wanted, AShortestOnTimeThatIsNoWholeTickIsRoundedUp) {
  Profile profile = plain_profile();
  profile.limits.on_time_min_us = 4.1;
  EXPECT_EQ(on_time_for(0, 440, profile, 2'000'000), 9);
}

TEST(Wanted, NotesPastTheBreakRateAreFolded) {
  Profile profile = plain_profile();
  profile.limits.break_rate_hz = 500;
  const Wanted wanted = wanted_from_score(held(81, 1), profile, {});  // 880 Hz
  EXPECT_EQ(wanted.notes.folded, 1);
  EXPECT_NEAR(static_cast<double>(wanted.bursts.size()), 440, 1);
}

TEST(Wanted, ATracksBurstsFollowItsPitch) {
  PitchTrack track;
  constexpr double kHop = 0.005;
  double periods = 0;
  for (int i = 0; i < 800; ++i) {
    const double hz = i < 100 || i >= 700 ? 0 : 300 + 20 * std::sin(i * 0.2) + i / 10.0;
    track.points.push_back({i * kHop, hz, hz > 0 ? 0.8 : 0});
    periods += hz * kHop;
  }
  const Wanted wanted = wanted_from_track(track, 4, plain_profile(), {});
  EXPECT_NEAR(static_cast<double>(wanted.bursts.size()), periods, 2);
  EXPECT_EQ(wanted.length, 8'000'000);
  for (std::size_t i = 1; i < wanted.bursts.size(); ++i) {
    const double hz = 2e6 / static_cast<double>(wanted.bursts[i].start - wanted.bursts[i - 1].start);
    EXPECT_GT(hz, 280);
    EXPECT_LT(hz, 400);
  }
}

TEST(Wanted, EachMomentIsABurst) {
  Moments moments;
  moments.moments = {{0.1, 0.5, 0.01}, {0.2, 1.0, 0.005}};
  const Wanted wanted = wanted_from_moments(moments, 1, plain_profile(), {});
  ASSERT_EQ(wanted.bursts.size(), 2u);
  EXPECT_EQ(wanted.bursts[0].start, 200'000);
  EXPECT_EQ(wanted.bursts[1].start, 400'000);
  EXPECT_GT(wanted.bursts[1].on, wanted.bursts[0].on);
}

TEST(Wanted, WildOptionsAreRefused) {
  const auto fault = [](const WeaveOptions& options) {
    try {
      (void)bursts_of(held(69, 1), options);
    } catch (const Error& error) {
      return error.fault();
    }
    return Fault::machine;
  };
  EXPECT_EQ(fault({.voices = 0}), Fault::usage);
  EXPECT_EQ(fault({.voices = 17}), Fault::usage);
  EXPECT_EQ(fault({.cap_of_period = -0.1}), Fault::usage);
  EXPECT_EQ(fault({.cap_of_period = std::nan("")}), Fault::usage);
  EXPECT_EQ(fault({.tick_hz = 999}), Fault::usage);
  EXPECT_EQ(fault({.tick_hz = 100'000'001}), Fault::usage);
}

RC_GTEST_PROP(Wanted, BurstsComeInOrderAndWithinTheirNotes, ()) {
  Score score;
  for (int i = *rc::gen::inRange(0, 40); i > 0; --i) {
    const double start = *rc::gen::inRange(0, 3000) / 1000.0;
    score.notes.push_back({start, start + *rc::gen::inRange(0, 800) / 1000.0,
                           *rc::gen::inRange(0, 1280) / 10.0, *rc::gen::inRange(0, 101) / 100.0});
  }
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  score.length_s = 4;
  const auto bursts = bursts_of(score, {.voices = *rc::gen::inRange(1, 17)});
  for (std::size_t i = 0; i < bursts.size(); ++i) {
    if (i > 0) RC_ASSERT(bursts[i - 1].start <= bursts[i].start);
    RC_ASSERT(bursts[i].note < score.notes.size());
    const Note& note = score.notes[bursts[i].note];
    RC_ASSERT(bursts[i].start >= nearest_tick(note.start_s, 2'000'000));
    RC_ASSERT(bursts[i].start < nearest_tick(note.end_s, 2'000'000));
    RC_ASSERT(bursts[i].on >= 8);
    RC_ASSERT(bursts[i].on <= 100);
  }
}

}  // namespace
}  // namespace burstloom
