// Verdicts in words: which limit is closest, on which side of it, by how much.
#include "burstloom/check/verdict_words.hpp"

#include <gtest/gtest.h>

namespace burstloom {
namespace {

LimitResult limit_of(const std::string& name, const std::string& unit, double worst, double allowed,
                     double margin_percent) {
  LimitResult limit;
  limit.limit = name, limit.unit = unit, limit.worst = worst, limit.allowed = allowed, limit.at_s = 12.0341;
  limit.margin_percent = margin_percent;
  limit.held = margin_percent >= 0;
  return limit;
}

TEST(VerdictWords, SayOnWhichSideOfItsLimitAQuantityIs) {
  EXPECT_EQ(distance_words(limit_of("gap", "us", 112, 100, 12)), "gap, 12 % above its 100 µs minimum");
  EXPECT_EQ(distance_words(limit_of("gap", "us", 80, 100, -20)), "gap, 20 % below its 100 µs minimum");
  EXPECT_EQ(distance_words(limit_of("on-time max", "us", 38, 40, 5)), "on-time, 5 % below its 40 µs maximum");
  EXPECT_EQ(distance_words(limit_of("on-time min", "us", 4, 5, -20)), "on-time, 20 % below its 5 µs minimum");
  EXPECT_EQ(distance_words(limit_of("duty 10 ms", "%", 23, 20, -15)),
            "duty 10 ms, 15 % above its 20 % limit");
}

TEST(VerdictWords, SayExactlyWhereThereIsNoMargin) {
  EXPECT_EQ(distance_words(limit_of("break rate", "Hz", 2500, 2500, 0)),
            "break rate, exactly at its 2500 Hz limit");
  EXPECT_EQ(distance_words(limit_of("break rate", "Hz", 2499, 2500, 0.04)),
            "break rate, less than 0.1 % below its 2500 Hz limit");
}

TEST(VerdictWords, RoundToTenthsBelowTenPercent) {
  EXPECT_EQ(distance_words(limit_of("duty 10 ms", "%", 19.371, 20, 3.145)),
            "duty 10 ms, 3.1 % below its 20 % limit");
  EXPECT_EQ(distance_words(limit_of("duty 10 ms", "%", 20.4, 20, -2)),
            "duty 10 ms, 2 % above its 20 % limit");
  EXPECT_EQ(distance_words(limit_of("peak current", "A", 45.1, 60, 24.83)),
            "peak current, 25 % below its 60 A limit");
}

TEST(VerdictWords, CountTemperaturesInDegrees) {
  EXPECT_EQ(distance_words(limit_of("junction", "C", 133, 110, -27)),
            "junction, 23 °C above its 110 °C limit");
}

TEST(VerdictWords, NameTheTightestWhereAllIsHeld) {
  Judgement judgement;
  EXPECT_EQ(verdict_words(judgement), "within limits");
  judgement.limits = {limit_of("gap", "us", 112, 100, 12), limit_of("break rate", "Hz", 2500, 2500, 0)};
  EXPECT_EQ(verdict_words(judgement),
            "within limits; tightest: break rate, exactly at its 2500 Hz limit (at 0:12.034)");
}

TEST(VerdictWords, SayHowManyAreExceededAndTheWorstOfThem) {
  Judgement judgement;
  judgement.verdict = Verdict::outside_limits;
  judgement.limits = {limit_of("duty 10 ms", "%", 23.1, 20, -15.5), limit_of("on-time max", "us", 38, 40, 5)};
  EXPECT_EQ(verdict_words(judgement),
            "outside limits: 1 limit exceeded: duty 10 ms, 16 % above its 20 % limit (23.1 % at 0:12.034)");
  judgement.limits.push_back(limit_of("gap", "us", 80, 100, -20));
  judgement.limits.back().at_s = 3.5;
  EXPECT_EQ(
      verdict_words(judgement),
      "outside limits: 2 limits exceeded, worst: gap, 20 % below its 100 µs minimum (80 µs at 0:03.500)");
}

TEST(VerdictWords, SayOfWhatACaptureCannotTell) {
  Judgement judgement;
  judgement.verdict = Verdict::cannot_tell;
  judgement.tolerance_us = 0.5;
  judgement.limits = {limit_of("gap", "us", 100, 100, 0)};
  judgement.limits[0].held = false, judgement.limits[0].unsure = true;
  EXPECT_EQ(verdict_words(judgement),
            "cannot tell whether it holds gap (edges known to 0.5 µs); tightest: gap, exactly at its 100 µs "
            "minimum (at 0:12.034)");
  EXPECT_STREQ(state_words(judgement.limits[0]), "cannot tell");
  EXPECT_STREQ(mark_of(judgement.verdict), "?");
}

}  // namespace
}  // namespace burstloom
