// Sounds carried by bursts: what is left of them in the gate, by exact Fourier coefficients.
#include "burstloom/weave/carry.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "../../src/weave/density_modulator.hpp"
#include "burstloom/check/judge.hpp"
#include "burstloom/common/error.hpp"
#include "carried_sounds.hpp"

namespace burstloom {
namespace {

using namespace testing_carry;

// At 20 kHz, ticks of 0.5 us and 10 to 50 % on-time: at least 35 dB up to 4 kHz. With on-times sampled once a
// period (uniform sampling) a tone of 2 kHz has 24 dB (measured, no published source).
TEST(Carrier, KeepsTonesAt35dB) {
  for (const double hz : {200.0, 1000.0, 2000.0, 3100.0}) {
    const Sound sound = tone(hz);
    const Carried carried = carry_by_on_time(sound, continuous_profile(), {}, 20'000);
    const double db = signal_to_noise_db(carried, sound, 4'000);
    RecordProperty("snr_db_at_" + std::to_string(static_cast<int>(hz)), std::to_string(db));
    EXPECT_GE(db, 35) << hz << " Hz";
  }
}

TEST(Carrier, KeepsASweepAt35dB) {
  const Sound sound =
      sound_of(0.3, [](double t) { return 0.5 * std::sin(kTau * (300 * t + 5'000 * t * t)); });
  EXPECT_GE(signal_to_noise_db(carry_by_on_time(sound, continuous_profile(), {}, 20'000), sound, 4'000), 35);
}

TEST(Carrier, UsesTheWholeSwing) {
  const Carried carried = carry_by_on_time(tone(500), continuous_profile(), {}, 20'000);
  Tick shortest = kEndOfTime, longest = 0;
  for (const WantedBurst& burst : carried.wanted.bursts) {
    shortest = std::min(shortest, burst.on);
    longest = std::max(longest, burst.on);
  }
  EXPECT_NEAR(static_cast<double>(shortest), 10, 1);
  EXPECT_NEAR(static_cast<double>(longest), 50, 1);
  EXPECT_DOUBLE_EQ(carried.carrier.bandwidth_hz, 5'000);
}

// Two tones, one fifty times softer than the other a second later: the middle of the on-times goes down with
// the level.
TEST(Carrier, QuietPassagesCostLittle) {
  const Sound sound = sound_of(2, [](double t) { return (t < 1 ? 0.5 : 0.01) * std::sin(kTau * 500 * t); });
  double loud = 0, quiet = 0;
  for (const WantedBurst& burst : carry_by_on_time(sound, continuous_profile(), {}, 20'000).wanted.bursts) {
    const double at_s = static_cast<double>(burst.start) / 2e6;
    if (at_s > 0.2 && at_s < 0.8) loud += static_cast<double>(burst.on);
    if (at_s > 1.2 && at_s < 1.8) quiet += static_cast<double>(burst.on);
  }
  EXPECT_NEAR(quiet / loud, (10 + 40 * 0.5 * 0.02) / 30, 0.02);
}

TEST(Carrier, SilenceHasNoBursts) {
  for (const WayOfCarrying& way : ways_of_carrying()) {
    const Carried carried =
        way.carry(sound_of(0.5, [](double) { return 0.25; }), continuous_profile(), {}, {});
    EXPECT_TRUE(carried.wanted.bursts.empty()) << way.name;
    EXPECT_EQ(carried.wanted.length, 1'000'000);
  }
}

TEST(Carrier, StretchesAreCountedAsNotes) {
  const Sound sound =
      sound_of(2, [](double t) { return std::fmod(t, 1) < 0.5 ? std::sin(kTau * 500 * t) : 0.0; });
  const Carried carried = carry_by_on_time(sound, continuous_profile(), {}, 20'000);
  EXPECT_EQ(carried.wanted.notes.read, 2);
  EXPECT_EQ(carried.wanted.bursts.back().note, 1u);
}

// As dense as a coil of short bursts allows: 20 000 places of 10 us.
TEST(Density, KeepsTonesWithinItsBand) {
  Profile profile = continuous_profile();
  profile.limits.on_time_max_us = 15;
  for (const double hz : {100.0, 400.0, 1000.0}) {
    const Sound sound = tone(hz);
    const Carried carried = carry_by_density(sound, profile, {}, 20'000);
    EXPECT_GE(signal_to_noise_db(carried, sound, carried.carrier.bandwidth_hz), 18) << hz << " Hz";
    for (std::size_t i = 1; i < carried.wanted.bursts.size(); ++i)
      ASSERT_GE(carried.wanted.bursts[i].start - carried.wanted.bursts[i - 1].start, 100);
  }
}

// A modulator of second order is chaotic: but for its grid, one last bit would soon make another stream.
TEST(Density, AnUlpMakesNoDifference) {
  weave_detail::DensityModulator one, other;
  std::int64_t fired = 0;
  double asked = 0;
  for (int i = 0; i < 100'000; ++i) {
    const double density = 0.5 + 0.35 * std::sin(0.001 * i) * std::cos(0.37 * i);
    const Tick on = 40 + i / 5'000;
    const bool fires = one.fires(density, on);
    ASSERT_EQ(other.fires(std::nextafter(density, i % 3 == 0 ? 0 : 1), on), fires) << i;
    fired += fires ? 1 : 0;
    asked += density;
  }
  EXPECT_NEAR(static_cast<double>(fired), asked, 3);
}

// Three times as loud is the same sound but for the last bits of every sum, as by another window function.
TEST(Density, DoesNotHangOnTheLastBits) {
  const auto times = [](double gain) {
    return sound_of(4, [gain](double t) {
      return gain * std::round(200 * std::sin(kTau * 211 * t) + 90 * std::sin(kTau * 373 * t)) / 1024;
    });
  };
  const Carried soft = carry_by_density(times(1), continuous_profile(), {}, 20'000);
  const Carried loud = carry_by_density(times(3), continuous_profile(), {}, 20'000);
  ASSERT_GT(soft.wanted.bursts.size(), 30'000u);
  EXPECT_EQ(soft.wanted.bursts, loud.wanted.bursts);
}

// Whatever the limits, what is wanted is nearly all kept: the carrier was chosen for them. And it is inside
// them.
TEST(Carriers, FitTheLimitsTheyWereChosenFor) {
  const Sound sound =
      sound_of(3, [](double t) { return std::sin(kTau * 180 * t) * std::cos(kTau * 0.7 * t); });
  for (const double gap_us : {5.0, 60.0, 200.0})
    for (const double percent : {6.0, 20.0})
      for (const WayOfCarrying& way : ways_of_carrying()) {
        Profile profile = continuous_profile();
        profile.drive.clock_tolerance_percent = 0.5;
        profile.drive.pulse_stretch_ns = 150;
        profile.limits.on_time_min_us = 3;
        profile.limits.on_time_max_us = 40;
        profile.limits.gap_us = gap_us;
        profile.limits.duty = {{10, 1.5 * percent}, {1000, percent}};
        profile.limits.break_rate_hz = 4'000;
        const Carried carried = way.carry(sound, profile, {}, {});
        BurstStream stream{kDefaultTickHz, carried.wanted.length, {}};
        for (const WantedBurst& burst : carried.wanted.bursts)
          stream.bursts.push_back({burst.start, burst.on});
        EXPECT_GT(stream.bursts.size(), 500u);
        const Judgement judgement = judge(stream, profile);
        for (const LimitResult& limit : judgement.limits)
          EXPECT_TRUE(limit.held) << way.name << ", gap " << gap_us << ", duty " << percent << ": "
                                  << limit.limit << " is " << limit.worst << ", allowed " << limit.allowed
                                  << " at " << carried.carrier.rate_hz;
      }
}

TEST(Carriers, SayWhatBindsWhereThereIsNoRoom) {
  Profile profile = continuous_profile();
  profile.limits.duty = {{1000, 0.01}};
  try {
    (void)carry_by_on_time(tone(440), profile, {});
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::outside_limits);
    EXPECT_NE(std::string(error.what()).find("duty 1000 ms"), std::string::npos) << error.what();
  }
  EXPECT_THROW((void)carry_by_on_time(tone(440), continuous_profile(), {}, 1e6), Error);
  EXPECT_THROW((void)carry_by_on_time(tone(440), continuous_profile(), {}, std::nan("")), Error);
}

TEST(Carriers, AnySoundIsTaken) {
  for (const WayOfCarrying& way : ways_of_carrying()) {
    EXPECT_TRUE(way.carry(sound_of(0, [](double) { return 0.0; }), continuous_profile(), {}, {})
                    .wanted.bursts.empty());
    EXPECT_NO_THROW((void)way.carry(sound_of(
                                        0.01, [](double t) { return t; }, 8'000),
                                    continuous_profile(), {}, {}));
    EXPECT_NO_THROW((void)way.carry(sound_of(
                                        0.05, [](double) { return 1e30; }, 192'000),
                                    continuous_profile(), {}, {}));
  }
}

}  // namespace
}  // namespace burstloom
