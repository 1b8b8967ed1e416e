// Placement against brute force, and against plain delay-until-free.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <functional>
#include <limits>

#include "../../src/guard/line.hpp"
#include "support/delay_until_free.hpp"

namespace burstloom::guard_detail {
namespace {

constexpr Tick kGap = 2;

std::int64_t cost_of(const Item& item, Tick at) {
  return std::int64_t{inertia(item)} * (at - item.start) * (at - item.start);
}

// The least weighted sum of squared moves over all placements in whole ticks that keep order, gaps and caps;
// nothing when there is none.
std::int64_t brute_force(const std::vector<Item>& items) {
  std::int64_t best = std::numeric_limits<std::int64_t>::max();
  const std::function<void(std::size_t, Tick, std::int64_t)> go = [&](std::size_t i, Tick free,
                                                                      std::int64_t cost) {
    if (cost >= best) return;
    if (i == items.size()) {
      best = cost;
      return;
    }
    const Tick first = std::max({free, Tick{0}, items[i].start - items[i].cap});
    for (Tick at = first; at <= items[i].start + items[i].cap; ++at)
      go(i + 1, at + items[i].on + kGap, cost + cost_of(items[i], at));
  };
  go(0, 0, 0);
  return best;
}

std::vector<Item> random_items(int most, Tick span, Tick longest_cap) {
  std::vector<Item> items;
  const int count = *rc::gen::inRange(1, most + 1);
  for (int i = 0; i < count; ++i)
    items.push_back({.start = *rc::gen::inRange<Tick>(0, span),
                     .on = *rc::gen::inRange<Tick>(1, 4),
                     .cap = *rc::gen::inRange<Tick>(0, longest_cap + 1),
                     .weight = *rc::gen::inRange<std::uint32_t>(1, 9)});
  std::stable_sort(items.begin(), items.end(),
                   [](const Item& a, const Item& b) { return a.start < b.start; });
  for (std::size_t i = 0; i < items.size(); ++i) items[i].wanted = static_cast<std::uint32_t>(i);
  return items;
}

RC_GTEST_PROP(Placement, IsTheOptimumForTheKeptSet, ()) {
  const std::vector<Item> wished = random_items(5, 24, 9);
  Line line{wished, {}};
  place_with_gaps(line, kGap);
  std::vector<Item> kept;  // the kept set, where it was wished to be
  std::int64_t cost = 0;
  Tick free = 0;
  for (const Item& item : line.items) {
    kept.push_back(wished[item.wanted]);
    cost += cost_of(kept.back(), item.start);
    RC_ASSERT(item.start >= free);
    RC_ASSERT(std::abs(item.start - kept.back().start) <= item.cap);
    free = item.end() + kGap;
  }
  RC_ASSERT(cost == brute_force(kept));
}

// Without caps in the way: the plain isotonic regression.
RC_GTEST_PROP(Placement, IsTheOptimumWithoutCaps, ()) {
  auto wished = random_items(4, 10, 0);
  for (Item& item : wished) item.cap = 30;
  Line line{wished, {}};
  place_with_gaps(line, kGap);
  RC_ASSERT(line.gone.empty());
  std::int64_t cost = 0;
  for (const Item& item : line.items) cost += cost_of(wished[item.wanted], item.start);
  RC_ASSERT(cost == brute_force(wished));
}

RC_GTEST_PROP(Placement, DropsNothingThatCouldBePlaced, ()) {
  const std::vector<Item> wished = random_items(5, 24, 9);
  Line line{wished, {}};
  place_with_gaps(line, kGap);
  const bool all_could = brute_force(wished) != std::numeric_limits<std::int64_t>::max();
  RC_ASSERT(line.gone.empty() == all_could);
}

// Three-note chords of 40 us bursts with gaps of 200 us, the case that the design measured: close triads over
// an octave, half a second each, all at once.
std::vector<Item> chords(double cap_of_period) {
  std::vector<Item> items;
  for (int chord = 0; chord < 24; ++chord)
    for (const int step : {0, 4, 7}) {
      const double hz = 220 * std::pow(2.0, (chord % 12 + step) / 12.0), period = 2e6 / hz;
      for (double t = chord * 1e6; t < chord * 1e6 + 1e6; t += period)
        items.push_back({.start = std::llround(t),
                         .on = 80,
                         .cap = static_cast<Tick>(period * cap_of_period),
                         .weight = 1});
    }
  std::stable_sort(items.begin(), items.end(),
                   [](const Item& a, const Item& b) { return a.start < b.start; });
  for (std::size_t i = 0; i < items.size(); ++i) items[i].wanted = static_cast<std::uint32_t>(i);
  return items;
}

TEST(Placement, LosesAQuarterAtMostOfWhatDelayLosesWhereTheCapBinds) {
  const auto wished = chords(0.1);
  Line line{wished, {}};
  place_with_gaps(line, 400);
  const auto delayed = testing::delay_until_free(wished, 400);
  const double all = static_cast<double>(wished.size());
  RecordProperty("lost_percent", std::to_string(100 * static_cast<double>(line.gone.size()) / all));
  RecordProperty("delay_lost_percent", std::to_string(100 * static_cast<double>(delayed.lost) / all));
  EXPECT_GT(delayed.lost, 0u);
  EXPECT_LE(4 * line.gone.size(), delayed.lost);
}

double rms_move_us(const Line& line, const std::vector<Item>& wished) {
  double sum = 0;
  for (const Item& item : line.items) {
    const auto move = static_cast<double>(item.start - wished[item.wanted].start) / 2;
    sum += move * move;
  }
  return std::sqrt(sum / static_cast<double>(line.items.size()));
}

TEST(Placement, MovesThreeQuartersAtMostOfWhatDelayMovesWhereTheCapDoesNotBind) {
  const auto wished = chords(0.5);
  Line line{wished, {}};
  place_with_gaps(line, 400);
  const auto delayed = testing::delay_until_free(wished, 400);
  EXPECT_EQ(line.gone.size(), 0u);
  EXPECT_EQ(delayed.lost, 0u);
  RecordProperty("rms_move_us", std::to_string(rms_move_us(line, wished)));
  RecordProperty("delay_rms_move_us", std::to_string(delayed.rms_move / 2));
  EXPECT_LE(rms_move_us(line, wished), 0.75 * delayed.rms_move / 2);
}

}  // namespace
}  // namespace burstloom::guard_detail
