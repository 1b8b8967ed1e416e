// How much a song may become.
#include <gtest/gtest.h>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/weave/carry.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom {
namespace {

Profile plain_profile() {
  Profile profile;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 50;
  profile.limits.duty = {{1000, 20}};
  profile.limits.break_rate_hz = 4000;
  return profile;
}

Score held(double length_s, const std::vector<double>& keys) {
  Score score;
  score.length_s = length_s;
  for (const double key : keys) score.notes.push_back({.start_s = 0, .end_s = length_s, .key = key});
  return score;
}

Error refusal_of(const Score& score, const WeaveOptions& options) {
  try {
    (void)wanted_from_score(score, plain_profile(), options);
  } catch (const Error& error) {
    return error;
  }
  return bad_input("woven", "", "");
}

TEST(Ceiling, IsOfLengthAndOfBursts) {
  EXPECT_EQ(most_bursts(3600), 25'200'000);
  EXPECT_NO_THROW(require_within_ceiling(3600, 25'200'000, 3600));
  EXPECT_THROW(require_within_ceiling(3600.1, 0, 3600), Error);
  EXPECT_THROW(require_within_ceiling(1, 25'200'001, 3600), Error);
  EXPECT_NO_THROW(require_within_ceiling(7200, 50'000'000, 7200));
}

TEST(Ceiling, SaysWhatTheSongWouldBeAndWhatWouldHoldIt) {
  try {
    require_within_ceiling(68'400, 71'234'567, 3600, "long.mid");
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::bad_input);
    EXPECT_EQ(error.where(), "long.mid");
    EXPECT_NE(error.problem().find("19:00:00 (h:mm:ss) and be some 71 000 000 bursts"), std::string::npos);
    EXPECT_TRUE(error.what_to_do().ends_with("--longest 1140")) << error.what_to_do();
  }
  try {
    require_within_ceiling(60, 42'000'001, 3600);
    FAIL();
  } catch (const Error& error) {
    EXPECT_TRUE(error.what_to_do().ends_with("--longest 101")) << error.what_to_do();
  }
}

// Three voices of the highest A in reach, 3520 Hz: 10 560 bursts in a second.
TEST(Ceiling, CountsBurstsAsTheyWillBe) {
  const Score score = held(1, {105, 105, 105});
  EXPECT_NE(refusal_of(score, {.longest_s = 1}).problem().find("some 11 000 bursts"), std::string::npos);
  const Wanted woven = wanted_from_score(score, plain_profile(), {.longest_s = 2});
  EXPECT_NEAR(static_cast<double>(woven.bursts.size()), 10'560, 30);
  // Fewer voices, fewer bursts.
  EXPECT_EQ(refusal_of(score, {.voices = 1, .longest_s = 1}).problem(), "woven");
}

// Bends that come within notes are not foreseen: what they make more is stopped where the ceiling is.
TEST(Ceiling, BendsWithinNotesDoNotPassIt) {
  Score score = held(1, {81, 81, 81});
  score.channels[0].bend = {{0.05, 24}};
  EXPECT_NE(refusal_of(score, {.longest_s = 1}).problem().find("some 7000 bursts"), std::string::npos);
}

TEST(Ceiling, HoldsForDrumsPitchesMomentsAndCarriedSound) {
  Score drums;
  drums.length_s = 2;
  drums.notes = {{.start_s = 0, .end_s = 0.1, .key = 36, .part = Part::drums}};
  EXPECT_NE(refusal_of(drums, {.longest_s = 1}).problem(), "woven");
  const WeaveOptions second{.longest_s = 1};
  EXPECT_THROW((void)wanted_from_moments({}, 2, plain_profile(), second), Error);
  EXPECT_THROW((void)wanted_from_track({{{0, 440, 1}}}, 2, plain_profile(), second), Error);
  const Sound sound{.rate_hz = 8000, .samples = std::vector<float>(16'000), .title = "", .remarks = {}};
  EXPECT_THROW((void)carry_by_on_time(sound, plain_profile(), second), Error);
  EXPECT_THROW((void)carry_by_density(sound, plain_profile(), second), Error);
}

}  // namespace
}  // namespace burstloom
