// Transforms of four frames at once against the sum by definition.
#include "transforms.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <random>

namespace burstloom::test {
namespace {

// Powers of four and of two, and what 12 and 16 kHz lead to.
constexpr std::size_t kSizes[] = {4, 8, 32, 64, 512, 576, 750, 2048};

constexpr double kRounding = 3e-6;

std::vector<Four> noise(std::size_t size) {
  std::mt19937 dice(5);
  std::uniform_real_distribution<float> any(-1, 1);
  std::vector<Four> samples(size);
  for (Four& four : samples)
    for (std::size_t lane = 0; lane < kLanes; ++lane) four[lane] = any(dice);
  return samples;
}

std::complex<double> by_definition(const std::vector<Four>& samples, std::size_t line, std::size_t lane) {
  const std::size_t size = samples.size();
  std::complex<double> sum = 0;
  for (std::size_t i = 0; i < size; ++i)
    sum += static_cast<double>(samples[i][lane]) *
           std::polar(
               1.0, -2 * std::numbers::pi * static_cast<double>(i * line % size) / static_cast<double>(size));
  return sum;
}

TEST(Transforms, AreTheSumsOfEachFrame) {
  for (const std::size_t size : kSizes) {
    const std::vector<Four> samples = noise(size);
    Transforms transforms(size);
    const auto lines = transforms(samples);
    ASSERT_EQ(lines.size(), size / 2 + 1);
    for (std::size_t k = 0; k < lines.size(); ++k)
      for (std::size_t lane = 0; lane < kLanes; ++lane) {
        const auto wanted = by_definition(samples, k, lane);
        EXPECT_NEAR(lines[k].re[lane], wanted.real(), kRounding * std::sqrt(static_cast<double>(size)))
            << size << " " << k;
        EXPECT_NEAR(lines[k].im[lane], wanted.imag(), kRounding * std::sqrt(static_cast<double>(size)))
            << size << " " << k;
      }
  }
}

TEST(Transforms, KnowTheNextFastSize) {
  EXPECT_EQ(Transforms::fast_size(505), 512U);
  EXPECT_EQ(Transforms::fast_size(549), 576U);
  EXPECT_EQ(Transforms::fast_size(576), 576U);
  EXPECT_EQ(Transforms::fast_size(13), 16U);
}

}  // namespace
}  // namespace burstloom::test
