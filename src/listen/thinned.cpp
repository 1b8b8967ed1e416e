#include "thinned.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "kaiser.hpp"
#include "transforms.hpp"

namespace burstloom {
namespace {

constexpr double lowest_rate_hz = 11025.0;
constexpr double pass_of_rate = 0.36;
constexpr double stop_of_rate = 0.52;
constexpr double stop_db = 70.0;

/// Kaiser's design: beta and length for a stop-band depth and a transition width (Kaiser 1974; the formulas
/// as in Oppenheim and Schafer, "Discrete-Time Signal Processing", section on Kaiser windows).
std::vector<float> low_pass(std::size_t every) {
  const double step = static_cast<double>(every);
  const double beta = 0.1102 * (stop_db - 8.7);
  const double width = 2.0 * std::numbers::pi * (stop_of_rate - pass_of_rate) / step;
  const auto half = static_cast<std::ptrdiff_t>(std::ceil((stop_db - 8.0) / (2.285 * width) / 2.0));
  const double cut = (pass_of_rate + stop_of_rate) / step;  // twice the middle of the transition
  std::vector<float> taps;
  double sum = 0;
  for (std::ptrdiff_t k = -half; k <= half; ++k) {
    const double at = static_cast<double>(k);
    const double tap = sinc(at * cut) * kaiser(at / static_cast<double>(half + 1), beta);
    taps.push_back(static_cast<float>(tap));
    sum += tap;
  }
  for (float& tap : taps) tap /= static_cast<float>(sum);
  return taps;
}

/// The sums of products from four places, `every` apart; `count` is a multiple of kLanes.
void dots(const float* taps, const float* from, std::size_t every, std::size_t count, float* four) {
  Four sums[4] = {};
  for (std::size_t i = 0; i < count; i += kLanes)
    for (std::size_t n = 0; n < 4; ++n) sums[n] += four_at(taps + i) * four_at(from + n * every + i);
  for (std::size_t n = 0; n < 4; ++n) four[n] = (sums[n][0] + sums[n][1]) + (sums[n][2] + sums[n][3]);
}

// Thins what another reader reads; the low-pass looks `half` samples ahead and behind.
class ThinningReader : public SoundReader {
 public:
  ThinningReader(const SoundSource& sound, std::size_t every)
      : every_(every),
        taps_(low_pass(every)),
        half_(static_cast<std::ptrdiff_t>(taps_.size() / 2)),
        left_(static_cast<std::int64_t>((static_cast<std::size_t>(sound.figures().samples) + every - 1) /
                                        every)),
        offset_(static_cast<float>(sound.figures().offset)),
        thinned_(kBlock),
        reach_(kBlock * every + taps_.size() + kLanes),
        sound_([&sound] { return sound.reader(); }, reach_) {
    taps_.resize((taps_.size() + kLanes - 1) / kLanes * kLanes);
  }

  std::span<const float> next() override {
    const auto count = static_cast<std::size_t>(std::min<std::int64_t>(kBlock, left_));
    const auto first = static_cast<std::ptrdiff_t>(centre_) - half_;
    const float* from = sound_.at(first, reach_).data();
    for (std::size_t n = 0; n < count; n += 4)
      dots(taps_.data(), from + n * every_, every_, taps_.size(), thinned_.data() + n);
    for (float& sample : thinned_) sample -= offset_;
    left_ -= static_cast<std::int64_t>(count);
    centre_ += count * every_;
    return std::span<const float>(thinned_).first(count);
  }

 private:
  static constexpr std::size_t kBlock = 1024;  // a multiple of four
  std::size_t every_, centre_ = 0;
  std::vector<float> taps_;
  std::ptrdiff_t half_;
  std::int64_t left_;
  float offset_;
  std::vector<float> thinned_;
  std::size_t reach_;  // of a block, in samples that are not thinned
  SoundWindow sound_;
};

std::size_t step_of(const SoundSource& sound) {
  return static_cast<std::size_t>(std::max(1.0, std::floor(sound.rate_hz() / lowest_rate_hz)));
}

constexpr double kKept_s = 1;

}  // namespace

Thinned::Thinned(const SoundSource& sound)
    : rate_hz(static_cast<double>(sound.rate_hz()) / static_cast<double>(step_of(sound))),
      window_([&sound] { return std::make_unique<ThinningReader>(sound, step_of(sound)); },
              static_cast<std::size_t>(kKept_s * rate_hz)) {}

}  // namespace burstloom
