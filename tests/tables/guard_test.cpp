// The guard on the chip (docs/reference/guard-on-chip.md) against a brute force of the test's own: it never
// trips on what the judge accepts, and it bounds whatever else is asked for.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "burstloom/check/judge.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/guard/guard.hpp"
#include "guard_run.hpp"
#include "support/random_profiles.hpp"

namespace burstloom {
namespace {

using table_detail::CompiledLimits;
using table_detail::GuardWindow;
using table_detail::WindowLimit;

Target test_chip(std::int64_t guard_ram = 1'024) {
  Target chip;
  chip.tick_hz = 2'000'000;
  chip.shortest_on_ticks = 1;
  chip.shortest_gap_ticks = 1;
  chip.longest_on_ticks = 60'000;
  chip.guard_ram_bytes = guard_ram;
  return chip;
}

CompiledLimits limits_of(const Profile& profile, const Target& chip) {
  TableInput input;
  input.stream.tick_hz = 2'000'000;
  input.profile = profile;
  return table_detail::compiled_limits(input, chip);
}

// Most of the bursts in any window: every window that begins or ends at an edge is counted, one by one.
Tick fullest(const std::vector<Burst>& bursts, const WindowLimit& limit, Tick stretch) {
  const auto within = [&](Tick from) {
    Tick content = 0;
    for (const Burst& burst : bursts) {
      const Tick to = from + limit.window, end = burst.end() + stretch;
      if (limit.counts_starts)
        content += burst.start >= from && burst.start < to ? 1 : 0;
      else
        content += std::max<Tick>(0, std::min(end, to) - std::max(burst.start, from));
    }
    return content;
  };
  Tick most = 0;
  for (const Burst& burst : bursts)
    for (const Tick from :
         {burst.start, burst.end() + stretch - limit.window, burst.start - limit.window + 1})
      most = std::max(most, within(from));
  return most;
}

// The guard of these limits, asked on a counter that soon turns over.
class Guard {
 public:
  explicit Guard(const CompiledLimits& limits) : run_(limits) {}
  Tick ask(const Burst& burst) { return run_.ask({burst.start + kBegin, burst.on}); }
  void rest(Tick now) { run_.rest(now + kBegin); }

 private:
  static constexpr Tick kBegin = (Tick{1} << 32) - 100'000;
  table_detail::GuardRun run_;
};

// Bursts of all kinds: crowds, trains, rests as long as windows, on-times from nothing to far too long.
std::vector<Burst> random_asks(const CompiledLimits& limits, std::size_t count) {
  const auto seed = *rc::gen::arbitrary<std::uint64_t>();
  std::uint64_t state = seed | 1;
  const auto below = [&state](Tick limit) {
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return limit <= 0 ? Tick{0} : static_cast<Tick>(state % static_cast<std::uint64_t>(limit));
  };
  const Tick crowd = *rc::gen::element<Tick>(0, limits.gap_min, 10 * limits.gap_min, 20'000);
  std::vector<Burst> asks;
  Tick at = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const Tick rest =
        below(40) == 0 && !limits.windows.empty() ? below(2 * limits.windows.back().limit.window) : 0;
    at += rest + (below(10) == 0 ? below(limits.gap_min + 1) : limits.gap_min) + below(crowd + 1);
    const Tick on = below(4) == 0 ? below(2 * limits.on_max + 2) : limits.on_max - below(3);
    asks.push_back({at, std::max<Tick>(on, 0)});
    at += std::clamp<Tick>(on, 0, limits.on_max);
  }
  return asks;
}

Profile profile_with_windows() {
  Profile profile = testing::random_profile();
  profile.limits.peak_current_a.reset();
  for (DutyLimit& duty : profile.limits.duty) duty.percent = std::min(duty.percent, 60.0);
  return profile;
}

RC_GTEST_PROP(chip_guard, bounds_whatever_is_asked_for, ()) {
  const CompiledLimits limits =
      limits_of(profile_with_windows(), test_chip(*rc::gen::element(40, 200, 1'024)));
  RC_PRE(limits.on_max > 0);
  Guard guard(limits);
  std::vector<Burst> made;
  std::size_t refused = 0;
  for (const Burst& ask : random_asks(limits, 400)) {
    const Tick on = guard.ask(ask);
    RC_ASSERT(on == 0 || on == std::min(ask.on, limits.on_max));
    if (on == 0) {
      ++refused;
      continue;
    }
    if (!made.empty()) RC_ASSERT(ask.start - made.back().end() >= limits.gap_min);
    made.push_back({ask.start, on});
  }
  RC_CLASSIFY(refused > 40, "many refused");
  RC_CLASSIFY(limits.windows.size() > 1, "several windows");
  for (const GuardWindow& window : limits.windows) {
    const Tick content = fullest(made, window.limit, limits.stretch);
    RC_CLASSIFY(content > window.limit.allowance, "over the allowance");
    const auto most = static_cast<double>(window.limit.allowance) * window.factor;
    RC_ASSERT(static_cast<double>(content) <= most + 1e-6);
  }
}

// A stream that brute force finds inside every window, as full as it gets.
RC_GTEST_PROP(chip_guard, never_trips_on_what_keeps_the_windows, ()) {
  const CompiledLimits limits = limits_of(profile_with_windows(), test_chip(*rc::gen::element(40, 1'024)));
  RC_PRE(limits.on_max > 0);
  Guard guard(limits);
  std::vector<Burst> stream;
  for (const Burst& ask : random_asks(limits, 120)) {
    const Burst burst{ask.start, std::min(ask.on, limits.on_max)};
    if (burst.on == 0 || (!stream.empty() && burst.start - stream.back().end() < limits.gap_min)) continue;
    stream.push_back(burst);
    const bool kept =
        std::all_of(limits.windows.begin(), limits.windows.end(), [&](const GuardWindow& window) {
          return fullest(stream, window.limit, limits.stretch) <= window.limit.allowance;
        });
    if (!kept) {
      stream.pop_back();
      continue;
    }
    RC_ASSERT(guard.ask(burst) == burst.on);
  }
  RC_CLASSIFY(stream.size() > 30, "long");
}

// The whole line: what is woven for a profile, the judge accepts; and what the judge accepts, the guard
// plays.
RC_GTEST_PROP(chip_guard, never_trips_on_a_woven_stream, ()) {
  const Profile profile = testing::random_profile();
  const auto wanted = testing::random_wishes(2'000'000, *rc::gen::inRange<std::size_t>(0, 600));
  BurstStream stream = place(wanted, profile, 2'000'000, 0).stream;
  RC_PRE(judge(stream, profile).verdict == Verdict::within_limits);
  const CompiledLimits limits = limits_of(profile, test_chip());
  const bool countable = std::all_of(stream.bursts.begin(), stream.bursts.end(),
                                     [&](const Burst& burst) { return burst.on + limits.stretch <= 65'535; });
  RC_PRE(countable);
  RC_CLASSIFY(stream.bursts.size() > 50, "long");
  RC_ASSERT(table_detail::first_refused(stream, limits) == std::nullopt);
}

// Rests around half a turn of the counter and a whole one: nothing old may come back.
TEST(chip_guard, forgets_over_long_rests) {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 5}};
  const CompiledLimits limits = limits_of(profile, test_chip());
  ASSERT_EQ(limits.windows.size(), 1u);
  for (const Tick rest : {Tick{1} << 31, (Tick{1} << 32) - 150, Tick{1} << 32, (Tick{1} << 32) + 150}) {
    Guard guard(limits);
    Tick at = 0;
    while (guard.ask({at, 100}) == 100) at += 300;
    EXPECT_EQ(at, 3'000) << "1 000 ticks in 10 ms";
    const Tick again = at + rest;
    for (Tick now = at; now < again - (Tick{1} << 20); now += Tick{1} << 20) guard.rest(now);
    EXPECT_EQ(guard.ask({again, 100}), 100) << rest;
  }
}

// Worked out by hand: 10 ms and 20 % of 2 MHz are 4 000 of 20 000 ticks; bursts of 100 at gaps of 200.
TEST(chip_guard, cuts_a_window_into_few_slots) {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 20}, {20, 40}};
  profile.limits.break_rate_hz = 1'000;
  const CompiledLimits limits = limits_of(profile, test_chip());
  ASSERT_EQ(limits.windows.size(), 2u) << "40 % are never reached: a third is what on-time and gap leave";
  const GuardWindow& duty = limits.windows[0];
  EXPECT_EQ(duty.limit.allowance, 4'000);
  // 3 slots of 6 666, 2 left over: half of that, 3 334, holds at most 11 bursts of 100 and 34 more ticks.
  EXPECT_EQ(duty.slots, 4) << "half a slot of 5 000 holds at most 900 ticks";
  EXPECT_DOUBLE_EQ(duty.factor, 1 + 900.0 / 4'000);
  EXPECT_EQ(limits.windows[1].limit.allowance, 100);
  EXPECT_TRUE(limits.windows[1].limit.counts_starts);
}

TEST(chip_guard, shortens_bursts_that_a_window_has_no_room_for) {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_max_us = 50;
  profile.limits.duty = {{0.2, 10}};
  EXPECT_EQ(limits_of(profile, test_chip()).on_max, 40);
}

TEST(chip_guard, refuses_to_export_what_it_cannot_keep) {
  TableInput input;
  input.profile.limits.on_time_max_us = 50;
  input.profile.limits.gap_us = 100;
  input.profile.limits.duty = {{300'000, 1}};
  input.stream = {2'000'000, 10'000, {{0, 50}}};
  EXPECT_THROW((void)table_header(input, targets().front()), Error);
  input.profile.limits.duty = {};
  for (int i = 1; i < 10; ++i) input.profile.limits.duty.push_back({10.0 * i, 10});
  EXPECT_THROW((void)table_header(input, targets().front()), Error);
  input.profile.limits.duty.pop_back();
  EXPECT_NO_THROW((void)table_header(input, targets().front()));
}

TEST(chip_guard, refuses_to_export_what_it_would_keep_back) {
  TableInput input;
  input.profile.limits.on_time_max_us = 50;
  input.profile.limits.gap_us = 100;
  input.profile.limits.duty = {{10, 2}};
  for (Tick i = 0; i < 5; ++i) input.stream.bursts.push_back({i * 1'000, 99});
  input.stream.length = 10'000;
  try {
    (void)table_header(input, targets().front());
    FAIL() << "was not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::outside_limits);
    EXPECT_NE(std::string(error.what()).find("burst 5"), std::string::npos) << error.what();
  }
}

TEST(Guard, EachWindowTakesFlashAndItsSlotsTakeRam) {
  const std::vector<GuardWindow> one{{.limit = {}, .slots = 10}},
      two{{.limit = {}, .slots = 10}, {.limit = {}, .slots = 20}};
  const std::int64_t a_window = table_detail::guard_flash(one);
  EXPECT_GE(a_window, 12);  // length, allowance and slot, four bytes each
  EXPECT_EQ(table_detail::guard_flash(two), 2 * a_window);
  EXPECT_GT(table_detail::guard_ram(two), 2 * table_detail::guard_ram(one));
}

}  // namespace
}  // namespace burstloom
