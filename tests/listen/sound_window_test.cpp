#include "sound_window.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

namespace burstloom {
namespace {

constexpr std::ptrdiff_t kSamples = 1000;

// 1, 2, 3 and so on, seven at a time.
class Counting : public SoundReader {
 public:
  std::span<const float> next() override {
    block_.resize(static_cast<std::size_t>(std::min<std::ptrdiff_t>(7, kSamples - read_)));
    std::iota(block_.begin(), block_.end(), static_cast<float>(read_ + 1));
    read_ += static_cast<std::ptrdiff_t>(block_.size());
    return block_;
  }

 private:
  std::ptrdiff_t read_ = 0;
  std::vector<float> block_;
};

TEST(SoundWindow, GivesAnyStretchHoweverLittleItKeeps) {
  SoundWindow window([] { return std::make_unique<Counting>(); }, 4);
  for (const auto& [first, count] : {std::pair<std::ptrdiff_t, std::size_t>{0, 3},
                                     {100, 300},
                                     {-20, 50},
                                     {990, 40},
                                     {500, 500},
                                     {17, 1},
                                     {2000, 5}}) {
    const std::span<const float> found = window.at(first, count);
    ASSERT_EQ(found.size(), count);
    for (std::size_t i = 0; i < count; ++i) {
      const std::ptrdiff_t at = first + static_cast<std::ptrdiff_t>(i);
      ASSERT_EQ(found[i], at >= 0 && at < kSamples ? static_cast<float>(at + 1) : 0.0F)
          << "sample " << at << " of " << count << " from " << first;
    }
  }
}

}  // namespace
}  // namespace burstloom
