// Bench streams: bursts one a second, each longer; a steady tone; nothing that the profile forbids.
#include "burstloom/coil/steps.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

Profile sample() {
  return parse_profile(kSample, "c");
}

TEST(Steps, RiseFromTheShortestToTheLongestOneASecond) {
  const Profile profile = sample();
  const CommandLimits limits = command_limits(profile);
  const BurstStream stream = rising_bursts(profile, 12);
  ASSERT_EQ(stream.bursts.size(), 12u);
  for (std::size_t i = 0; i < 12; ++i) {
    EXPECT_EQ(stream.bursts[i].start, static_cast<Tick>(i + 1) * 2'000'000);
    if (i > 0) {
      EXPECT_GT(stream.bursts[i].on, stream.bursts[i - 1].on);
    }
  }
  EXPECT_EQ(stream.bursts.front().on, static_cast<Tick>(std::ceil(2 * limits.on_time_min_us - 1e-6)));
  EXPECT_EQ(stream.bursts.back().on, static_cast<Tick>(std::floor(2 * limits.on_time_max_us + 1e-6)));
}

TEST(Steps, EqualOnesAreLeftOut) {
  Profile profile = sample();
  profile.limits.on_time_max_us = 6;
  const BurstStream stream = rising_bursts(profile, 200);
  EXPECT_LE(stream.bursts.size(), 5u);
  EXPECT_GE(stream.bursts.size(), 3u);
}

TEST(Steps, ASteadyTone) {
  const BurstStream stream = steady_tone(sample(), 250, 10, 4);
  EXPECT_EQ(stream.bursts.size(), 1000u);
  EXPECT_EQ(stream.length, 8'000'000);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i)
    EXPECT_EQ(stream.bursts[i], (Burst{static_cast<Tick>(i) * 8'000, 20}));
}

TEST(Steps, WhatTheProfileForbidsIsRefused) {
  const Profile profile = sample();
  const auto refused = [&](auto make) {
    try {
      (void)make();
    } catch (const Error& error) {
      return error.fault() == Fault::usage;
    }
    return false;
  };
  EXPECT_TRUE(refused([&] { return rising_bursts(profile, 1); }));
  EXPECT_TRUE(refused([&] { return rising_bursts(profile, 201); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, 250, 51, 1); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, 250, 1, 1); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, 9000, 20, 1); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, 0.5, 20, 1); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, 250, 20, 601); }));
  EXPECT_TRUE(refused([&] { return steady_tone(profile, std::nan(""), 20, 1); }));
}

TEST(Steps, TheOrderOfWorkEndsWithTheCautions) {
  const auto lines = order_of_bench_work();
  ASSERT_GE(lines.size(), 8u);
  EXPECT_NE(lines.back().find("A prediction is no permission"), std::string::npos);
}

}  // namespace
}  // namespace burstloom
