// The judge fed in blocks says what it says of the whole: every field, whatever the blocks.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/supply.hpp"
#include "support/random_profiles.hpp"
#include "tick_by_tick.hpp"

namespace burstloom {
namespace {

void expect_same(const Judgement& a, const Judgement& b) {
  RC_ASSERT(a.verdict == b.verdict);
  RC_ASSERT(a.limits.size() == b.limits.size());
  for (std::size_t i = 0; i < a.limits.size(); ++i) {
    const LimitResult &x = a.limits[i], &y = b.limits[i];
    RC_ASSERT(x.limit == y.limit && x.unit == y.unit && x.worst == y.worst && x.in_stream == y.in_stream);
    RC_ASSERT(x.allowed == y.allowed && x.at_s == y.at_s && x.held == y.held && x.unsure == y.unsure);
    RC_ASSERT(x.margin_percent == y.margin_percent);
  }
  RC_ASSERT(a.violations_in_all == b.violations_in_all);
  RC_ASSERT(a.violations.size() == b.violations.size());
  for (std::size_t i = 0; i < a.violations.size(); ++i) {
    const Violation &x = a.violations[i], &y = b.violations[i];
    RC_ASSERT(x.limit == y.limit && x.unit == y.unit && x.at_s == y.at_s && x.value == y.value);
  }
  RC_ASSERT(a.not_judged.size() == b.not_judged.size());
  for (std::size_t i = 0; i < a.not_judged.size(); ++i)
    RC_ASSERT(a.not_judged[i].limit == b.not_judged[i].limit && a.not_judged[i].why == b.not_judged[i].why);
  RC_ASSERT(a.remarks == b.remarks && a.tolerance_us == b.tolerance_us);
  RC_ASSERT(a.rest_before_repeat_s == b.rest_before_repeat_s);
}

Judgement in_blocks(const BurstStream& stream, const Profile& profile, const JudgeOptions& options,
                    std::size_t most, const BurstStream* whole) {
  RunningJudge judge(profile, stream.tick_hz, options);
  for (std::size_t at = 0; at < stream.bursts.size();) {
    const std::size_t size =
        std::min(stream.bursts.size() - at, most == 1 ? 1 : *rc::gen::inRange<std::size_t>(1, most + 1));
    judge.take(std::span(stream.bursts).subspan(at, size));
    at += size;
  }
  return judge.finish(stream.length, options.last_is_cut, whole);
}

JudgeOptions random_options() {
  JudgeOptions options;
  if (!*rc::gen::arbitrary<bool>()) return options;
  options.measured = true;
  options.tolerance_us = *rc::gen::element(0.0, 0.5, testing::between(0, 5));
  options.first_is_cut = *rc::gen::arbitrary<bool>();
  options.last_is_cut = *rc::gen::arbitrary<bool>();
  return options;
}

RC_GTEST_PROP(JudgeInBlocks, SaysTheSameOfTiming, ()) {
  const Profile profile = testing::coarse_profile();
  const BurstStream stream = testing::coarse_stream();
  const JudgeOptions options = random_options();
  const auto most = *rc::gen::element<std::size_t>(1, 3, 50);
  expect_same(in_blocks(stream, profile, options, most, &stream), judge(stream, profile, options));
}

// With current, heat and supply, and more intervals than the judge keeps at a time.
RC_GTEST_PROP(JudgeInBlocks, SaysTheSameOfEnergy, ()) {
  Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  if (*rc::gen::arbitrary<bool>()) profile.limits.junction_c = testing::between(25.2, 110);
  if (*rc::gen::arbitrary<bool>())
    profile.limits.duty = {{testing::between(1, 2000), testing::between(0.1, 20)}};
  BurstStream stream{2'000'000, 0, {}};
  const auto longest_gap = *rc::gen::element<Tick>(300, 1000, 20'000);
  std::uint64_t state = *rc::gen::arbitrary<std::uint64_t>();
  for (int i = *rc::gen::inRange(0, 1500); i > 0; --i) {
    state = state * 6364136223846793005u + 1442695040888963407u;
    const auto draw = static_cast<Tick>(state >> 33);
    const Tick start = stream.length + 245 + draw % longest_gap;
    stream.bursts.push_back({start, 9 + draw % 70});
    stream.length = stream.bursts.back().end();
  }
  const JudgeOptions options = random_options();
  const auto most = *rc::gen::element<std::size_t>(1, 700);
  expect_same(in_blocks(stream, profile, options, most, &stream), judge(stream, profile, options));
}

// The supply's second reaches further back than any duty window: nothing that it still sees may be forgotten.
// By the coil's own sums, which keep the whole stream.
TEST(JudgeInBlocks, KeepsWhatTheLongestWindowStillSees) {
  Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  profile.limits.duty = {{10, 20}};
  profile.limits.break_rate_hz.reset();
  BurstStream stream{2'000'000, 0, {}};
  for (Tick i = 0; i < 6'000; ++i)
    stream.bursts.push_back({i * 1000, i < 3'000 ? 70 - i / 50 : 10 + i / 100});
  stream.length = stream.bursts.back().end();
  const auto table = current_table(profile);
  const double clock = 1 + profile.drive.clock_tolerance_percent / 100;
  const WorstMean supply = worst_supply_w(stream, profile, [&](Tick on) {
    return table->figures(stream.microseconds(on) * clock + profile.drive.pulse_stretch_ns / 1e3);
  });
  RunningJudge running(profile, stream.tick_hz, {});
  for (const Burst& burst : stream.bursts) running.take(std::span(&burst, 1));
  const double judged_w = testing::result_of(running.finish(stream.length, false, &stream), "supply").worst;
  EXPECT_NEAR(judged_w, supply.value, 0.01 * supply.value);
}

// Whether it may start again at once takes trials of the whole; what is not known is said.
TEST(JudgeInBlocks, WithoutTheWholeARepeatThatTakesTrialsIsLeftOpen) {
  Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  BurstStream stream{2'000'000, 0, {}};
  for (Tick i = 0; i < 2'000; ++i) stream.bursts.push_back({i * 2000, 60});
  stream.length = stream.bursts.back().end() + 10'000;
  const double hottest_c = testing::result_of(judge(stream, profile), "heatsink").worst;
  profile.limits.heatsink_c = hottest_c + 0.5;
  const auto said = [&](const BurstStream* whole) {
    RunningJudge judge(profile, stream.tick_hz, {});
    judge.take(stream.bursts);
    return judge.finish(stream.length, false, whole);
  };
  EXPECT_GT(said(&stream).rest_before_repeat_s.value(), 0);
  EXPECT_TRUE(said(&stream).remarks == judge(stream, profile).remarks);
  const Judgement open = said(nullptr);
  EXPECT_EQ(open.verdict, Verdict::within_limits);
  EXPECT_FALSE(open.rest_before_repeat_s);
  EXPECT_NE(open.remarks.back().find("whether it may start again at once is not told"), std::string::npos);
}

}  // namespace
}  // namespace burstloom
