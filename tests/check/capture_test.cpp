// Captures of hardware, from the file to the verdict: design.md section 8. Nothing odd is ever taken for
// silence.
#include <algorithm>
#include <filesystem>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/files.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using testing::lenient_profile;
using testing::result_of;

// A capture at 10 ns from the edges' times in units: `0 1 500 0 ...` alternates from `level`.
std::string vcd_of(int level, const std::vector<Tick>& edges, Tick end) {
  std::string text = "$timescale 10 ns $end\n$var wire 1 ! gate $end\n$enddefinitions $end\n#0\n" +
                     std::to_string(level) + "!\n";
  for (const Tick edge : edges) {
    level = 1 - level;
    text += "#" + std::to_string(edge) + "\n" + std::to_string(level) + "!\n";
  }
  return text + "#" + std::to_string(end) + "\n";
}

Profile strict_profile() {
  Profile profile = lenient_profile();
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 20}};
  return profile;
}

Judgement judged(const std::string& vcd, double tolerance_us = 0.01, bool invert = false) {
  const Capture capture = from_vcd(vcd, "capture.vcd", {.wire = "", .invert = invert});
  EXPECT_FALSE(capture.exact);
  return judge(capture.stream, strict_profile(),
               {.tolerance_us = tolerance_us,
                .measured = true,
                .last_is_cut = capture.ends_high,
                .first_is_cut = capture.starts_high});
}

constexpr Tick kUs = 100;  // units a microsecond

TEST(Captures, OfAGoodGateAreWithinLimits) {
  const Judgement judgement = judged(vcd_of(0, {50 * kUs, 70 * kUs, 400 * kUs, 430 * kUs}, 1000 * kUs));
  EXPECT_EQ(judgement.verdict, Verdict::within_limits);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 30, 1e-9);
  EXPECT_NEAR(result_of(judgement, "gap").worst, 330, 1e-9);
  EXPECT_EQ(judgement.tolerance_us, 0.01);
}

TEST(Captures, OfAWireStuckHighAreOutside) {
  const Judgement judgement = judged(vcd_of(1, {}, 10'000 * kUs));
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 10'000, 1e-6);
}

TEST(Captures, HighAtTheStartCountAsABurstOfAtLeastThatLength) {
  const Judgement cannot = judged(vcd_of(1, {20 * kUs, 400 * kUs, 430 * kUs}, 1000 * kUs));
  EXPECT_EQ(cannot.verdict, Verdict::cannot_tell);
  EXPECT_TRUE(result_of(cannot, "on-time max").unsure);
  EXPECT_EQ(judged(vcd_of(1, {60 * kUs, 400 * kUs, 430 * kUs}, 1000 * kUs)).verdict, Verdict::outside_limits);
}

TEST(Captures, CutOffWithinABurstCannotTell) {
  EXPECT_EQ(judged(vcd_of(0, {50 * kUs, 70 * kUs, 400 * kUs}, 420 * kUs)).verdict, Verdict::cannot_tell);
  EXPECT_EQ(judged(vcd_of(0, {50 * kUs, 70 * kUs, 400 * kUs}, 460 * kUs)).verdict, Verdict::outside_limits);
}

TEST(Captures, ACutBurstIsNotTooShort) {
  const Judgement judgement = judged(vcd_of(1, {2 * kUs, 400 * kUs, 430 * kUs}, 1000 * kUs));
  EXPECT_TRUE(result_of(judgement, "on-time min").held);
}

TEST(Captures, Inverted) {
  // Active low: low for 20 us and for 30 us.
  const std::string text = vcd_of(1, {50 * kUs, 70 * kUs, 400 * kUs, 430 * kUs}, 1000 * kUs);
  EXPECT_EQ(judged(text, 0.01, true).verdict, Verdict::within_limits);
  EXPECT_EQ(judged(text, 0.01, false).verdict, Verdict::outside_limits);
}

TEST(Captures, AShortHighGlitchIsABurstTooShortAndTooClose) {
  const Judgement judgement =
      judged(vcd_of(0, {50 * kUs, 70 * kUs, 120 * kUs, 120 * kUs + 30, 400 * kUs, 430 * kUs}, 1000 * kUs));
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_FALSE(result_of(judgement, "on-time min").held);
  EXPECT_FALSE(result_of(judgement, "gap").held);
}

TEST(Captures, AShortLowGlitchJoinsTwoBurstsIntoOneTooLong) {
  const std::string text = vcd_of(0, {50 * kUs, 80 * kUs, 80 * kUs + 30, 110 * kUs}, 1000 * kUs);
  EXPECT_EQ(from_vcd(text, "c.vcd", {}).short_lows, 1);
  const Judgement judgement = judged(text);
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_NEAR(result_of(judgement, "on-time max").worst, 60, 1e-6);
}

// The limit is 50 us. `tolerance` is how far each edge may be from where it is seen.
TEST(Captures, WhatTheToleranceCouldHideCannotBeTold) {
  const auto verdict = [](Tick on, double tolerance_us) {
    return judged(vcd_of(0, {50 * kUs, 50 * kUs + on}, 1000 * kUs), tolerance_us).verdict;
  };
  EXPECT_EQ(verdict(49 * kUs, 1), Verdict::within_limits);
  EXPECT_EQ(verdict(50 * kUs, 0), Verdict::within_limits);
  EXPECT_EQ(verdict(50 * kUs, 1), Verdict::cannot_tell);
  EXPECT_EQ(verdict(51 * kUs, 1), Verdict::cannot_tell);
  EXPECT_EQ(verdict(52 * kUs, 1), Verdict::outside_limits);
}

TEST(Captures, ToleranceForTheOtherLimits) {
  // A gap of 100 us, a shortest burst of 4 us, at the limits: with a tolerance they could be past them.
  const std::string text = vcd_of(0, {50 * kUs, 54 * kUs, 154 * kUs, 164 * kUs}, 1000 * kUs);
  EXPECT_EQ(judged(text, 0).verdict, Verdict::within_limits);
  const Judgement unsure = judged(text, 0.5);
  EXPECT_EQ(unsure.verdict, Verdict::cannot_tell);
  EXPECT_TRUE(result_of(unsure, "gap").unsure);
  EXPECT_TRUE(result_of(unsure, "on-time min").unsure);
  EXPECT_TRUE(result_of(unsure, "on-time max").held);
}

TEST(Captures, ToleranceForDuty) {
  // 40 bursts of 50 us in 10 ms are 20 %, the limit.
  std::vector<Tick> edges;
  for (Tick i = 0; i < 40; ++i) edges.insert(edges.end(), {(50 + i * 250) * kUs, (100 + i * 250) * kUs});
  const std::string text = vcd_of(0, edges, 12'000 * kUs);
  EXPECT_TRUE(result_of(judged(text, 0), "duty 10 ms").held);
  EXPECT_TRUE(result_of(judged(text, 0.5), "duty 10 ms").unsure);
}

TEST(Captures, AddNoClockError) {
  Profile profile = strict_profile();
  profile.drive.clock_tolerance_percent = 2;
  const BurstStream stream = testing::stream_of({{0, 100}});
  EXPECT_EQ(judge(stream, profile, {.measured = true}).verdict, Verdict::within_limits);
  EXPECT_EQ(judge(stream, profile).verdict, Verdict::outside_limits);
}

TEST(Captures, PastTheLastMeasuredPointCannotTell) {
  Profile profile = lenient_profile();
  profile.drive.bus_v = 36;
  profile.drive.bus_tolerance_percent = 0;
  profile.measured = MeasuredCurrent{36, true, {10, 40}, {10, 20}};
  profile.limits.peak_current_a = 100;
  const auto current = [&](Tick on) {
    return result_of(judge(testing::stream_of({{0, on}}), profile), "peak current");
  };
  EXPECT_TRUE(current(80).held);
  EXPECT_TRUE(current(82).unsure);
  EXPECT_EQ(judge(testing::stream_of({{0, 82}}), profile).verdict, Verdict::cannot_tell);
}

TEST(Captures, OfAWavGateStuckHighAreOutside) {
  const auto path = std::filesystem::temp_directory_path() / "burstloom-stuck-high.wav";
  BurstStream stuck{2'000'000, 20'000, {{0, 20'000}}};
  write_wav_gate(stuck, 200'000, path.string());
  Bytes bytes = read_file(path.string());  // as a recorder would have written it: without our mark
  const Capture capture = from_wav_gate(path.string(), {});
  std::filesystem::remove(path);
  ASSERT_EQ(capture.stream.bursts.size(), 1u);
  const Judgement judgement =
      judge(capture.stream, strict_profile(), {.measured = true, .last_is_cut = true});
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
}

}  // namespace
}  // namespace burstloom
