// Causal placing: what waits, what goes, and that what comes later changes nothing that was settled before.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "burstloom/guard/guard.hpp"

namespace burstloom {
namespace {

constexpr std::int64_t kTickHz = 2'000'000;

Profile gap_alone() {  // bursts of up to 50 us, 100 us of gap: 200 ticks
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{1000, 100}};
  return profile;
}

WantedBurst burst(Tick start, std::uint16_t voice, Tick cap = 500) {
  return {.start = start, .on = 40, .cap = cap, .voice = voice};
}

std::vector<Burst> woven(const std::vector<WantedBurst>& wanted) {
  return place(wanted, gap_alone(), kTickHz, 0, Placing::causal).stream.bursts;
}

TEST(causal, a_burst_waits_until_the_coil_is_free) {
  EXPECT_EQ(woven({burst(1'000, 0), burst(1'100, 1)}), (std::vector<Burst>{{1'000, 40}, {1'240, 40}}));
}
TEST(causal, a_burst_that_would_wait_longer_than_its_cap_goes) {
  EXPECT_EQ(woven({burst(1'000, 0), burst(1'100, 1, 140)}).size(), 2u);
  EXPECT_EQ(woven({burst(1'000, 0), burst(1'100, 1, 139)}), (std::vector<Burst>{{1'000, 40}}));
}
// The coil would be free at 1 240; the first voice's next burst would wait until then.
TEST(causal, a_burst_goes_that_would_make_an_earlier_voice_too_late) {
  EXPECT_EQ(woven({burst(1'000, 1), burst(1'100, 0, 140)}).size(), 2u);
  EXPECT_EQ(woven({burst(1'000, 1), burst(1'100, 0, 139)}), (std::vector<Burst>{{1'100, 40}}));
}
TEST(causal, of_two_at_one_moment_the_earlier_voice_is_first) {
  EXPECT_EQ(woven({burst(1'000, 1), burst(1'000, 0)}), (std::vector<Burst>{{1'000, 40}, {1'240, 40}}));
  const Guarded guarded = place({burst(1'000, 1), burst(1'000, 0)}, gap_alone(), kTickHz, 0, Placing::causal);
  EXPECT_EQ(guarded.wanted_of, (std::vector<std::uint32_t>{1, 0}));
}
TEST(causal, a_rest_longer_than_the_clock_is_a_rest) {
  EXPECT_EQ(woven({burst(0, 0), burst((Tick{1} << 32) + 5, 1)}),
            (std::vector<Burst>{{0, 40}, {(Tick{1} << 32) + 5, 40}}));
}
TEST(causal, refuses_limits_past_its_clock) {
  Profile profile = gap_alone();
  profile.limits.gap_us = 600e6;
  EXPECT_ANY_THROW((void)place({burst(0, 0)}, profile, kTickHz, 0, Placing::causal));
}

// Bursts wanted later than any that was settled, and their next, make no difference.
RC_GTEST_PROP(causal, settles_without_knowing_what_comes, ()) {
  std::vector<WantedBurst> wanted;
  const int voices = *rc::gen::inRange(1, 6);
  for (int v = 0; v < voices; ++v) {
    const Tick period = *rc::gen::inRange<Tick>(600, 9'000);
    for (Tick at = *rc::gen::inRange<Tick>(0, period); at < 200'000; at += period)
      wanted.push_back(burst(at, static_cast<std::uint16_t>(v), period / 10));
  }
  std::stable_sort(wanted.begin(), wanted.end(),
                   [](const auto& a, const auto& b) { return a.start < b.start; });
  const std::vector<Burst> whole = woven(wanted);
  // What is settled up to a moment needs the voices' next bursts, a period on, and no more.
  constexpr Tick kKnown = 100'000, kNext = 9'000;
  std::erase_if(wanted, [](const WantedBurst& it) { return it.start >= kKnown + kNext; });
  const std::vector<Burst> known = woven(wanted);
  const auto until = [](const std::vector<Burst>& bursts) {
    std::vector<Burst> early;
    for (const Burst& it : bursts)
      if (it.start < kKnown) early.push_back(it);
    return early;
  };
  RC_ASSERT(until(whole) == until(known));
}

}  // namespace
}  // namespace burstloom
