// What bench points say: linear between, the first point's current below it, nothing past the last.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "sample.hpp"

namespace burstloom {
namespace {

Profile with_points(double bus_v, double tolerance, std::vector<double> times, std::vector<double> peaks,
                    double limit) {
  Profile p;
  p.drive.bus_v = bus_v;
  p.drive.bus_tolerance_percent = tolerance;
  p.measured = MeasuredCurrent{36, true, std::move(times), std::move(peaks)};
  p.limits.peak_current_a = limit;
  return p;
}

TEST(MeasuredCurrents, AreInterpolatedAndScaledToTheHighestBus) {
  const Profile p = with_points(72, 10, {10, 20, 50}, {18, 25, 27}, 60);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 10), 18 * 2.2);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 15), 21.5 * 2.2);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 50), 27 * 2.2);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 1), 18 * 2.2);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 0), 18 * 2.2);
  EXPECT_FALSE(peak_current_a(p, 50.001).has_value());
  EXPECT_FALSE(peak_current_a(p, std::nan("")).has_value());
}

TEST(MeasuredCurrents, NeverFallAsTheBurstGrows) {
  const Profile p = with_points(36, 0, {10, 20, 30}, {18, 25, 24}, 60);
  EXPECT_DOUBLE_EQ(*peak_current_a(p, 30), 25);
}

TEST(LongestOnTime, LiesWhereTheCurrentMeetsItsLimit) {
  EXPECT_NEAR(*longest_on_time_for_current_us(with_points(36, 0, {10, 20, 50}, {18, 25, 27}, 21.5)), 15,
              1e-9);
  EXPECT_NEAR(*longest_on_time_for_current_us(with_points(36, 10, {10, 20, 50}, {18, 25, 27}, 21.5 * 1.1)),
              15, 1e-9);
}

TEST(LongestOnTime, IsTheLastPointWhereNoneReachesTheLimit) {
  EXPECT_EQ(longest_on_time_for_current_us(with_points(36, 10, {10, 20, 50}, {18, 25, 27}, 60)), 50.0);
  EXPECT_EQ(longest_on_time_for_current_us(with_points(36, 0, {10, 20, 50}, {18, 25, 27}, 27)), 50.0);
}

TEST(LongestOnTime, IsNoneWhereEvenTheFirstPointPassesTheLimit) {
  EXPECT_EQ(longest_on_time_for_current_us(with_points(36, 10, {10, 20, 50}, {18, 25, 27}, 19)), 0.0);
}

TEST(LongestOnTime, CannotBeToldWithoutPointsBusOrLimit) {
  Profile p = with_points(36, 10, {10}, {18}, 60);
  p.limits.peak_current_a.reset();
  EXPECT_FALSE(longest_on_time_for_current_us(p).has_value());
  p = with_points(36, 10, {10}, {18}, 60);
  p.drive.bus_v.reset();
  EXPECT_FALSE(longest_on_time_for_current_us(p).has_value());
  EXPECT_FALSE(peak_current_a(p, 5).has_value());
  p = with_points(36, 10, {}, {}, 60);
  EXPECT_FALSE(longest_on_time_for_current_us(p).has_value());
  p.measured.reset();
  EXPECT_FALSE(longest_on_time_for_current_us(p).has_value());
}

RC_GTEST_PROP(LongestOnTime, KeepsTheLimitAndIsTheLongestThatDoes, ()) {
  const auto some = *rc::gen::container<std::vector<int>>(rc::gen::inRange(1, 1000));
  RC_PRE(!some.empty());
  std::vector<double> times, peaks;
  double time = 0;
  for (const int value : some) {
    times.push_back(time += value * 0.173);
    peaks.push_back(*rc::gen::inRange(1, 1000) * 0.377);
  }
  const Profile p = with_points(41.3, 7, times, peaks, *rc::gen::inRange(1, 500) * 0.91);
  const double longest = *longest_on_time_for_current_us(p);
  if (longest > 0) RC_ASSERT(*peak_current_a(p, longest) <= *p.limits.peak_current_a);
  const double more = longest * (1 + 1e-6) + 1e-9;
  if (more <= times.back()) RC_ASSERT(*peak_current_a(p, more) > *p.limits.peak_current_a * (1 - 1e-5));
}

}  // namespace
}  // namespace burstloom
