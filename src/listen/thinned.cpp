#include "thinned.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kaiser.hpp"
#include "usable.hpp"

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

void copy_padded(const std::vector<float>& from, std::ptrdiff_t first, std::size_t count, float* out) {
  const auto size = static_cast<std::ptrdiff_t>(from.size());
  for (std::size_t i = 0; i < count; ++i) {
    const std::ptrdiff_t at = first + static_cast<std::ptrdiff_t>(i);
    out[i] = at >= 0 && at < size ? usable_or_zero(from[static_cast<std::size_t>(at)]) : 0.0F;
  }
}

/// The low-pass about sample `centre`. The sound is read in place; only at its ends, and where something in
/// it is no number, it is copied.
float filtered(const std::vector<float>& from, const std::vector<float>& taps, std::size_t centre,
               std::vector<float>& padded) {
  const std::size_t half = taps.size() / 2;
  if (centre >= half && centre + half < from.size()) {
    const float sum = dot(taps.data(), from.data() + (centre - half), taps.size());
    if (usable(sum)) return sum;
  }
  copy_padded(from, static_cast<std::ptrdiff_t>(centre) - static_cast<std::ptrdiff_t>(half), padded.size(),
              padded.data());
  return dot(taps.data(), padded.data(), taps.size());
}

std::vector<float> decimate(const std::vector<float>& from, std::size_t every) {
  const std::vector<float> taps = low_pass(every);
  std::vector<float> padded(taps.size());
  std::vector<float> kept((from.size() + every - 1) / every);
  for (std::size_t n = 0; n < kept.size(); ++n) kept[n] = filtered(from, taps, n * every, padded);
  return kept;
}

void take_out_offset(std::vector<float>& samples) {
  if (samples.empty()) return;
  double sum = 0;
  for (const float sample : samples) sum += static_cast<double>(sample);
  const auto mean = static_cast<float>(sum / static_cast<double>(samples.size()));
  for (float& sample : samples) sample -= mean;
}

}  // namespace

void Thinned::copy(std::ptrdiff_t first, std::size_t count, float* out) const {
  copy_padded(samples, first, count, out);
}

Thinned thin_out(const Sound& sound) {
  const auto every = static_cast<std::size_t>(std::max(1.0, std::floor(sound.rate_hz / lowest_rate_hz)));
  Thinned thinned;
  thinned.rate_hz = static_cast<double>(sound.rate_hz) / static_cast<double>(every);
  thinned.samples = decimate(sound.samples, every);
  take_out_offset(thinned.samples);
  return thinned;
}

}  // namespace burstloom
