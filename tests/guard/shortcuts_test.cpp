// Where nothing binds the guard does less: whatever it skips must have changed nothing.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <bit>
#include <map>
#include <tuple>

#include "../../src/guard/burdens.hpp"
#include "../../src/guard/windows.hpp"
#include "support/random_profiles.hpp"

namespace burstloom::guard_detail {
namespace {

// Limits of energy and heat anywhere between what binds nothing and what binds everything.
Profile random_coil() {
  Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/half-bridge-325v.toml");
  const auto drawn = [](double most) { return most * *rc::gen::element(1.0, testing::between(0.001, 0.1)); };
  profile.limits.duty = {{10, drawn(60)}, {1000, drawn(40)}};
  profile.limits.break_rate_hz = drawn(4000);
  profile.limits.supply_w = drawn(8000);
  profile.limits.tank_capacitor_a_rms = drawn(100);
  profile.limits.junction_c = 25 + drawn(150);
  profile.limits.heatsink_c = 25 + drawn(5);
  return profile;
}

// Bursts that do not overlap, dense and sparse by turns.
std::vector<Item> random_line(const GateLimits& limits) {
  std::vector<Item> items;
  Tick now = 0;
  for (int part = *rc::gen::inRange(1, 6); part > 0; --part) {
    const Tick apart = *rc::gen::element<Tick>(600, 2'000, 20'000, 400'000);
    for (int i = *rc::gen::inRange(1, 400); i > 0; --i) {
      const Tick on = *rc::gen::inRange(limits.on_min, limits.on_max + 1);
      items.push_back(
          {.start = now, .on = on, .weight = 5, .wanted = static_cast<std::uint32_t>(items.size())});
      now += on + limits.gap + *rc::gen::inRange<Tick>(0, apart);
    }
  }
  return items;
}

bool same(const std::vector<Item>& a, const std::vector<Item>& b) {
  const auto of = [](const Item& it) { return std::tuple(it.wanted, it.start, it.on, it.causes); };
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [&](const Item& x, const Item& y) { return of(x) == of(y); });
}

RC_GTEST_PROP(Shortcuts, LeaveOutOnlyWhatWouldChangeNothing, ()) {
  const Profile profile = random_coil();
  const GateLimits limits = gate_limits(profile, 2'000'000);
  const Burdens burdens(profile, 2'000'000, limits);
  Line line{random_line(limits), {}};
  const std::vector<Item> before = line.items;
  const bool timing = starts_hold(line.items, limits) && holds(line.items, limits.duty[0]) &&
                      holds(line.items, limits.duty[1]);
  const bool energy = burdens.hold(line.items);
  RC_CLASSIFY(timing, "timing holds");
  RC_CLASSIFY(energy, "energy holds");
  if (timing) {
    thin_out(line, limits);
    turn_down(line, limits);
    enforce_duty(line, limits);
    RC_ASSERT(same(line.items, before));
  }
  line.items = before;
  if (energy) {
    burdens.turn_down(line);
    burdens.enforce(line);
    RC_ASSERT(same(line.items, before));
  }
}

// The highest limit that still changes bursts is looked for without any shortcut; the shortcut must see it
// too.
RC_GTEST_PROP(Shortcuts, TheLookAtHeatByBlocksFindsAllThatTheExactOneFinds, ()) {
  Profile profile = random_coil();
  profile.limits.supply_w = profile.limits.tank_capacitor_a_rms = std::nullopt;
  profile.limits.junction_c = profile.limits.heatsink_c = std::nullopt;
  Heatsink& sink = profile.heatsink;
  sink.sink_heat_capacity_j_per_k = *sink.sink_heat_capacity_j_per_k * testing::between(0.001, 0.1);
  sink.start_c = sink.ambient_c + *rc::gen::element(0.0, testing::between(0, 20));
  sink.case_start_c = *sink.start_c + *rc::gen::element(0.0, testing::between(0, 5));
  const GateLimits limits = gate_limits(profile, 2'000'000);
  const std::vector<Item> items = random_line(limits);
  auto& limit_c = *rc::gen::arbitrary<bool>() ? profile.limits.junction_c : profile.limits.heatsink_c;
  const auto changes = [&] {
    Line line{items, {}};
    Burdens(profile, 2'000'000, limits).enforce(line);
    return !same(line.items, items);
  };
  double low = *sink.start_c - 1, high = 250;
  while (high - low > 1e-4) {
    limit_c = (low + high) / 2;
    (changes() ? low : high) = *limit_c;
  }
  limit_c = low;
  RC_ASSERT(!Burdens(profile, 2'000'000, limits).hold(items));
}

// The look by blocks of bursts never finds less than the exact one, for bursts that overlap too.
RC_GTEST_PROP(Shortcuts, TheLookByBlocksIsNeverMilderThanTheExactOne, ()) {
  std::vector<Item> items;
  for (int i = *rc::gen::inRange(1, 120); i > 0; --i)
    items.push_back({.start = *rc::gen::inRange<Tick>(0, 2'000), .on = *rc::gen::inRange<Tick>(1, 61)});
  std::stable_sort(items.begin(), items.end(),
                   [](const Item& a, const Item& b) { return a.start < b.start; });
  const Tick window = *rc::gen::inRange<Tick>(1, 900);
  Tick fullest = 0;
  for_each_window(items, window, [&](const Span& span) { fullest = std::max(fullest, span.content); });
  const auto on_time = [](const Item& item) { return item.on; };
  RC_ASSERT(!surely_hold(items, window, fullest - 1, on_time));
  RC_ASSERT(surely_hold(items, window, Tick{60 * 120}, on_time));
}

// Who goes, found plainly: of all in the window the lightest, of these the odd ones of a voice, the latest.
std::vector<std::uint32_t> who_stays(std::vector<Item> items, Tick window, std::int64_t most) {
  std::map<std::uint16_t, std::uint32_t> seen;
  std::vector<int> evenness;
  for (const Item& item : items) {
    const std::uint32_t ordinal = seen[item.voice]++;
    evenness.push_back(ordinal == 0 ? 32 : std::countr_zero(ordinal));
  }
  for (std::size_t i = 0; i < items.size(); ++i)
    for (;;) {
      std::vector<std::size_t> inside;
      for (std::size_t k = 0; k <= i; ++k)
        if (!items[k].dropped() && items[k].start > items[i].start - window) inside.push_back(k);
      if (static_cast<std::int64_t>(inside.size()) <= most) break;
      const auto goes = *std::min_element(inside.begin(), inside.end(), [&](std::size_t a, std::size_t b) {
        return std::tuple(items[a].weight, evenness[a], b) < std::tuple(items[b].weight, evenness[b], a);
      });
      items[goes].drop(bit(Cause::break_rate));
    }
  std::vector<std::uint32_t> stay;
  for (const Item& item : items)
    if (!item.dropped()) stay.push_back(item.wanted);
  return stay;
}

RC_GTEST_PROP(Shortcuts, ThinningSortsOnlyWhereItMustAndDropsTheSame, ()) {
  GateLimits limits;
  limits.start_window = *rc::gen::inRange<Tick>(1, 200);
  limits.most_starts = *rc::gen::inRange<std::int64_t>(0, 12);
  Line line;
  const Tick span = *rc::gen::element<Tick>(100, 1'000, 10'000);
  for (int i = *rc::gen::inRange(1, 150); i > 0; --i)
    line.items.push_back({.start = *rc::gen::inRange<Tick>(0, span),
                          .on = 1,
                          .weight = *rc::gen::inRange<std::uint32_t>(1, 4),
                          .voice = *rc::gen::inRange<std::uint16_t>(0, 3)});
  std::stable_sort(line.items.begin(), line.items.end(),
                   [](const Item& a, const Item& b) { return a.start < b.start; });
  for (std::size_t i = 0; i < line.items.size(); ++i) line.items[i].wanted = static_cast<std::uint32_t>(i);
  const auto stay = who_stays(line.items, limits.start_window, limits.most_starts);
  thin_out(line, limits);
  std::vector<std::uint32_t> stayed;
  for (const Item& item : line.items) stayed.push_back(item.wanted);
  RC_ASSERT(stayed == stay);
}

// A cluster that stands is not solved again, yet what comes after it may not reach into it: here the second
// goes, and the third could make room for the fifth if the first were not there.
TEST(Shortcuts, WhatStandsStaysInTheWayOfWhatComesAfter) {
  constexpr Tick kGap = 2;
  Line line;
  line.items = {{.start = 0, .on = 10, .cap = 0, .weight = 9, .wanted = 0},
                {.start = 12, .on = 6, .cap = 0, .weight = 1, .wanted = 1},
                {.start = 13, .on = 4, .cap = 11, .weight = 9, .wanted = 2},
                {.start = 14, .on = 4, .cap = 4, .weight = 9, .wanted = 3},
                {.start = 18, .on = 3, .cap = 0, .weight = 9, .wanted = 4}};
  const std::vector<Item> wished = line.items;
  place_with_gaps(line, kGap);
  Tick free = 0;
  for (const Item& item : line.items) {
    EXPECT_GE(item.start, free);
    EXPECT_LE(std::abs(item.start - wished[item.wanted].start), item.cap);
    free = item.end() + kGap;
  }
  EXPECT_EQ(line.items.size(), 3u);
}

}  // namespace
}  // namespace burstloom::guard_detail
