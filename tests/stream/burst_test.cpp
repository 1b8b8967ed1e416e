#include "burstloom/stream/burst.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;

BurstStream three() {
  return {2'000'000, 1000, {{10, 5}, {15, 1}, {900, 100}}};
}

TEST(Burst, StreamsThatKeepTheInvariantPass) {
  EXPECT_NO_THROW(require_in_order(three(), "x"));
  EXPECT_NO_THROW(require_in_order({1000, 0, {}}, "x"));
  EXPECT_NO_THROW(require_in_order({100'000'000, kEndOfTime - 1, {{0, kEndOfTime - 1}}}, "x"));
}

TEST(Burst, EveryBrokenInvariantIsNamed) {
  const auto refused = [](const char* part, auto change) {
    BurstStream stream = three();
    change(stream);
    expect_error(Fault::bad_input, part, [&] { require_in_order(stream, "song.csv"); });
  };
  refused("song.csv: the tick rate is 999 Hz", [](auto& s) { s.tick_hz = 999; });
  refused("the tick rate is 100000001 Hz", [](auto& s) { s.tick_hz = 100'000'001; });
  refused("burst 1 at", [](auto& s) { s.bursts[0].start = -1; });
  refused("starts outside the range of time", [](auto& s) { s.bursts[2].start = kEndOfTime; });
  refused("has an impossible on-time", [](auto& s) { s.bursts[1].on = 0; });
  refused("has an impossible on-time", [](auto& s) { s.bursts[2].on = std::numeric_limits<Tick>::max(); });
  refused("burst 2 at 0.000007 s starts before the one before it ends",
          [](auto& s) { s.bursts[1].start = 14; });
  refused("length does not hold", [](auto& s) { s.length = 999; });
  refused("length does not hold", [](auto& s) { s.length = kEndOfTime; });
}

TEST(Burst, AnExcerptHoldsWholeBurstsOnly) {
  EXPECT_EQ(excerpt(three(), 0, 1000), three());
  EXPECT_EQ(excerpt(three(), 11, 999), (BurstStream{2'000'000, 988, {{4, 1}}}));
  EXPECT_EQ(excerpt(three(), 900, 5000), (BurstStream{2'000'000, 100, {{0, 100}}}));
  EXPECT_EQ(excerpt(three(), 2000, 5000), (BurstStream{2'000'000, 0, {}}));
}

RC_GTEST_PROP(Burst, TwoExcerptsThatMeetInAGapHoldEveryBurst, ()) {
  const BurstStream stream = test::random_stream({2'000'000}, 1);
  RC_PRE(!stream.bursts.empty());
  const Tick seam = stream.bursts[*rc::gen::inRange<std::size_t>(0, stream.bursts.size())].end();
  BurstStream joined = excerpt(stream, 0, seam);
  const BurstStream second = excerpt(stream, seam, stream.length);
  for (const Burst& burst : second.bursts) joined.bursts.push_back({burst.start + seam, burst.on});
  joined.length += second.length;
  RC_ASSERT(joined == stream);
}

TEST(Burst, SecondsBecomeTheNearestTick) {
  EXPECT_EQ(nearest_tick(1.0, 2'000'000), 2'000'000);
  EXPECT_EQ(nearest_tick(0.24e-6, 2'000'000), 0);
  EXPECT_EQ(nearest_tick(0.26e-6, 2'000'000), 1);
  expect_error(Fault::bad_input, "outside the range of time", [] { (void)nearest_tick(1e300, 2'000'000); });
  expect_error(Fault::bad_input, "outside the range of time",
               [] { (void)nearest_tick(std::nan(""), 2'000'000); });
}

}  // namespace
}  // namespace burstloom
