#include "thinned.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "kaiser.hpp"

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

/// Four sums side by side, which the compiler can keep in one register.
float dot(const float* a, const float* b, std::size_t count) {
  float sums[4] = {0, 0, 0, 0};
  std::size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (std::size_t lane = 0; lane < 4; ++lane) sums[lane] += a[i + lane] * b[i + lane];
  for (; i < count; ++i) sums[0] += a[i] * b[i];
  return (sums[0] + sums[1]) + (sums[2] + sums[3]);
}

// Thins what another reader reads; the low-pass looks `half` samples ahead and behind.
class ThinningReader : public SoundReader {
 public:
  ThinningReader(const SoundSource& sound, std::size_t every)
      : every_(every),
        taps_(low_pass(every)),
        left_(static_cast<std::int64_t>((static_cast<std::size_t>(sound.figures().samples) + every - 1) /
                                        every)),
        offset_(static_cast<float>(sound.figures().offset)),
        sound_([&sound] { return sound.reader(); }, taps_.size()) {}

  std::span<const float> next() override {
    constexpr std::int64_t kBlock = 4096;
    const auto half = static_cast<std::ptrdiff_t>(taps_.size() / 2);
    thinned_.clear();
    for (std::int64_t n = std::min(kBlock, left_); n > 0; --n, --left_, centre_ += every_)
      thinned_.push_back(dot(taps_.data(),
                             sound_.at(static_cast<std::ptrdiff_t>(centre_) - half, taps_.size()).data(),
                             taps_.size()) -
                         offset_);
    return thinned_;
  }

 private:
  std::size_t every_, centre_ = 0;
  std::vector<float> taps_, thinned_;
  std::int64_t left_;
  float offset_;
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
