// Trains begin where they collide least.
#include <gtest/gtest.h>

#include <cmath>

#include "../../src/weave/phase.hpp"

namespace burstloom::weave_detail {
namespace {

// How many of `count` bursts of `a` are nearer to one of `b` than both leave free.
int collisions(const Sequence& a, Tick delay, const Sequence& b, int count) {
  int found = 0;
  for (int k = 0; k < count; ++k) {
    const double at = static_cast<double>(a.next + delay) + k * a.period - static_cast<double>(b.next);
    const double late = at - std::floor(at / b.period) * b.period;
    found += late < static_cast<double>(b.busy) || b.period - late < static_cast<double>(a.busy);
  }
  return found;
}

// The smallest burst and gap of the design's chords: 40 us and 200 us.
constexpr Tick kBusy = 480;

TEST(Phase, SimpleRatiosInterlock) {
  const Sequence low{1000, 2e6 / 220, kBusy};
  for (const double ratio : {1.0, 1.5, 2.0, 4.0 / 3}) {
    const Sequence high{1000, 2e6 / (220 * ratio), kBusy};
    EXPECT_GT(collisions(high, 0, low, 64), 0) << ratio;
    const Tick delay = best_delay(high, {low}, static_cast<Tick>(high.period));
    EXPECT_EQ(collisions(high, delay, low, 64), 0) << ratio;
    EXPECT_GE(delay, 0);
    EXPECT_LT(static_cast<double>(delay), high.period);
  }
}

TEST(Phase, NobodyWaitsForNothing) {
  const Sequence it{0, 4000, kBusy};
  EXPECT_EQ(best_delay(it, {}, 4000), 0);
  EXPECT_EQ(best_delay(it, {{2000, 4000, kBusy}}, 4000), 0);
  EXPECT_EQ(best_delay(it, {{0, 4000, kBusy}}, 0), 0);
}

TEST(Phase, IsBoundByTheLatestBeginning) {
  const Sequence it{0, 40'000, kBusy};
  const Tick delay = best_delay(it, {{0, 40'000, kBusy}}, 300);
  EXPECT_GT(delay, 0);
  EXPECT_LE(delay, 300);
}

}  // namespace
}  // namespace burstloom::weave_detail
