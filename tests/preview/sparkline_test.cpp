#include "burstloom/preview/sparkline.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace burstloom {
namespace {

TEST(Sparkline, RisesFromTheLowestToTheLimit) {
  const std::vector<double> values{0, 1, 2, 3, 4, 5, 6, 7};
  EXPECT_EQ(sparkline(values, 0, 7, true), "▁▂▃▄▅▆▇█");
  EXPECT_EQ(sparkline(values, 0, 7, false), "_.:-=+*#");
}

TEST(Sparkline, AFullBlockIsAtTheLimitOnly) {
  EXPECT_EQ(sparkline(std::vector<double>{6.999, 7, 8}, 0, 7, false), "*##");
}

TEST(Sparkline, OddValuesAreNoTrouble) {
  EXPECT_EQ(sparkline(std::vector<double>{-5, NAN, INFINITY, -INFINITY}, 0, 1, false), "_ #_");
  EXPECT_EQ(sparkline(std::vector<double>{1, 2}, 3, 3, false), "__");
  EXPECT_EQ(sparkline({}, 0, 1, true), "");
}

}  // namespace
}  // namespace burstloom
