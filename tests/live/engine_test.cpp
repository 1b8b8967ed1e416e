// The engine by itself: messages in, bursts out.
#include "burstloom/live/engine.hpp"

#include <gtest/gtest.h>

namespace burstloom {
namespace {
TEST(LiveEngine, Stands) {
  EXPECT_EQ(kMostLiveVoices, 16u);
}
}  // namespace
}  // namespace burstloom
