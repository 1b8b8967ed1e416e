#include "pitch_weights.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>

#include "burstloom/score/score.hpp"

namespace burstloom {
namespace {

constexpr int kHarmonics = 12;
constexpr double kFall = 0.9;  // a harmonic's amplitude goes with its number to the power of minus this
constexpr int kUpdates = 12;
constexpr std::size_t kNoises = 6;
constexpr float kTiny = 1e-6f;
// The strongest pitch over the spectrum's mean, compressed: white noise has 0.24 to 0.35, music from 0.6 on.
constexpr float kTonal = 0.5f;
constexpr float kSilent = 0.05f;  // of the strongest, compressed: -52 dB

// The line spectrum of one harmonic sound: lobes of the Hann window, each at its place between two lines.
std::vector<float> harmonic_sound(double hz, double line_hz, std::size_t lines) {
  std::vector<float> magnitudes(lines, 0.0f);
  for (int h = 1; h <= kHarmonics && (h * hz / line_hz) + 4 < static_cast<double>(lines); ++h) {
    const double place = h * hz / line_hz;
    for (int k = -2; k <= 3; ++k) {
      const auto line = static_cast<std::ptrdiff_t>(std::floor(place)) + k;
      if (line < 0) continue;
      const double x = static_cast<double>(line) - place, pi_x = std::numbers::pi * x;
      const double lobe = std::abs(x) < 1e-9 ? 1.0
                          : std::abs(std::abs(x) - 1) < 1e-9
                              ? 0.5
                              : std::abs(std::sin(pi_x) / (pi_x * (1 - x * x)));
      float& magnitude = magnitudes[static_cast<std::size_t>(line)];
      magnitude = std::max(magnitude, static_cast<float>(lobe * std::pow(h, -kFall)));
    }
  }
  return magnitudes;
}

// Sums in eight lanes, for the processor's vectors.
float dot(const float* a, const float* b, std::size_t size) {
  std::array<float, 8> lanes{};
  std::size_t i = 0;
  for (; i + 8 <= size; i += 8)
    for (std::size_t k = 0; k < 8; ++k) lanes[k] += a[i + k] * b[i + k];
  float sum = 0;
  for (; i < size; ++i) sum += a[i] * b[i];
  for (const float lane : lanes) sum += lane;
  return sum;
}

}  // namespace

PitchWeights::PitchWeights(const PitchAxis& axis, double line_hz, double highest_hz)
    : steps_(axis.steps()), model_(steps_), ratio_(steps_), seen_(steps_) {
  const auto lines = static_cast<std::size_t>(highest_hz / line_hz) + 8;
  std::vector<float> steps(steps_);
  for (int key = kLowestKey; key <= kHighestKey; ++key) {
    axis.map(harmonic_sound(key_hz(key), line_hz, lines), steps);
    for (float& step : steps) step = std::sqrt(step);
    add(steps);
  }
  // Noise of one band after another, for drums and breath.
  for (std::size_t n = 0; n < kNoises; ++n) {
    for (std::size_t i = 0; i < steps_; ++i) {
      const double x =
          static_cast<double>(i) / static_cast<double>(steps_ - 1) * (kNoises - 1) - static_cast<double>(n);
      steps[i] = static_cast<float>(std::max(0.0, 1 - std::abs(x)));
    }
    add(steps);
  }
  weights_.resize(templates_.size());
}

// Keeps the stretch of the steps that is not silent.
void PitchWeights::add(const std::vector<float>& steps) {
  const auto audible = [](float value) { return value > 0.02f; };
  const auto first = std::find_if(steps.begin(), steps.end(), audible);
  const auto last = std::find_if(steps.rbegin(), steps.rend(), audible).base();
  Template made{static_cast<std::size_t>(first - steps.begin()), {first, std::max(first, last)}, kTiny};
  for (const float value : made.shape) made.sum += value;
  templates_.push_back(std::move(made));
}

void PitchWeights::update() {
  std::fill(model_.begin(), model_.end(), 1e-4f);
  for (const std::size_t t : active_) {
    const Template& shape = templates_[t];
    float* model = model_.data() + shape.first;
    const float weight = weights_[t];
    for (std::size_t i = 0; i < shape.shape.size(); ++i) model[i] += weight * shape.shape[i];
  }
  for (std::size_t i = 0; i < steps_; ++i) ratio_[i] = seen_[i] / model_[i];
  for (const std::size_t t : active_) {
    const Template& shape = templates_[t];
    weights_[t] *= dot(ratio_.data() + shape.first, shape.shape.data(), shape.shape.size()) / shape.sum;
  }
}

// Most pitches do not sound, and that shows soon.
void PitchWeights::leave_out_the_silent() {
  const float most = *std::max_element(weights_.begin(), weights_.end());
  std::erase_if(active_, [&](std::size_t t) {
    if (weights_[t] > kSilent * most) return false;
    weights_[t] = 0;
    return true;
  });
}

std::span<const float> PitchWeights::of(std::span<const float> steps) {
  for (std::size_t i = 0; i < steps_; ++i) seen_[i] = std::sqrt(steps[i] + kTiny);
  std::fill(weights_.begin(), weights_.end(), 0.01f);
  active_.resize(templates_.size());
  std::iota(active_.begin(), active_.end(), std::size_t{0});
  for (int i = 0; i < kUpdates; ++i) {
    update();
    if (i % 3 == 2) leave_out_the_silent();
  }
  const std::span<float> pitches(weights_.data(), kPitches);
  float mean = 0;
  for (const float value : seen_) mean += value / static_cast<float>(steps_);
  if (*std::max_element(pitches.begin(), pitches.end()) < kTonal * mean)
    std::fill(pitches.begin(), pitches.end(), 0.0f);
  return pitches;
}

}  // namespace burstloom
