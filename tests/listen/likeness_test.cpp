#include "burstloom/listen/likeness.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "burstloom/score/score.hpp"

namespace burstloom {
namespace {

Sound chord(const std::vector<double>& keys, double gain = 0.1, int rate_hz = 22'050) {
  Sound sound{.rate_hz = rate_hz,
              .samples = std::vector<float>(static_cast<std::size_t>(rate_hz)),
              .title = "",
              .remarks = {}};
  for (std::size_t i = 0; i < sound.samples.size(); ++i)
    for (const double key : keys)
      for (int h = 1; h <= 5; ++h)
        sound.samples[i] += static_cast<float>(
            gain / h * std::sin(2 * std::numbers::pi * h * key_hz(key) * static_cast<double>(i) / rate_hz));
  return sound;
}

TEST(ChromaLikeness, OfASoundToItselfIsOne) {
  EXPECT_NEAR(chroma_likeness(chord({60, 64, 67}), chord({60, 64, 67})), 1, 1e-6);
  EXPECT_NEAR(chroma_likeness(chord({60, 64, 67}), chord({60, 64, 67}, 0.01, 44'100)), 1, 0.02);
}

TEST(ChromaLikeness, KnowsNoOctaveAndNoOtherNote) {
  EXPECT_GT(chroma_likeness(chord({60}), chord({72})), 0.95);
  EXPECT_LT(chroma_likeness(chord({60}), chord({66})), 0.1);
  const double part = chroma_likeness(chord({60, 64, 67}), chord({60}));
  EXPECT_GT(part, 0.3);
  EXPECT_LT(part, 0.8);
}

TEST(ChromaLikeness, OfSilenceIsNothing) {
  EXPECT_EQ(chroma_likeness(chord({60}), chord({})), 0);
  EXPECT_EQ(chroma_likeness(chord({}), chord({60})), 0);
}

}  // namespace
}  // namespace burstloom
