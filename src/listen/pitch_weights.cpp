#include "pitch_weights.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>

#include "burstloom/score/score.hpp"

namespace burstloom {
namespace {

// What these stand for was found on the pieces of tests/outside/listening that are not held out, and on
// others like them.
constexpr int kHarmonics = 12;
constexpr double kFall = 0.9;        // a harmonic's amplitude goes with its number to the power of minus this
constexpr int kBands = 5;            // of a pitch
constexpr double kBandWidth = 0.45;  // octaves, standard deviation
constexpr int kUpdates = 12;
constexpr float kFew = 0.14f, kFewFrom = 0.1f;  // the penalty's weight, and where it stops to grow
constexpr std::size_t kNoises = 6;
constexpr std::size_t kReach = 18;  // steps to either side that a spectrum is evened out over: six semitones
constexpr float kEvenedFrom = 0.01f;  // of the mean amplitude
// The strongest pitch over the spectrum's mean: white noise has 0.4 to 1.4, music with drums mostly over 2.
constexpr float kTonal = 1.5f;
constexpr float kSilent = 0.02f;   // of the strongest pitch
constexpr float kAudible = 0.04f;  // of a template's strongest step
constexpr float kTiny = 1e-6f;

// How much of a harmonic is in one of a pitch's bands, which lie an octave apart.
double share_of(int harmonic, int band) {
  const double octaves = std::log2(harmonic) - band;
  if (band == kBands - 1 && octaves > 0) return 1;
  return std::exp(-0.5 * octaves * octaves / (kBandWidth * kBandWidth));
}

// The roots of the lines that one band of a harmonic sound has: lobes of the Hann window, each at its place
// between two lines, in the first lane.
std::vector<Four> band_of_harmonics(int band, double hz, double line_hz, std::size_t lines) {
  std::vector<Four> roots(lines);
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
      Four& root = roots[static_cast<std::size_t>(line)];
      root[0] =
          std::max(root[0], static_cast<float>(share_of(h, band) * std::sqrt(lobe * std::pow(h, -kFall))));
    }
  }
  return roots;
}

float root_of_mean_square(std::span<const float> values) {
  float sum = 0;
  for (const float value : values) sum += value * value;
  return std::sqrt(sum / static_cast<float>(values.size()));
}

}  // namespace

PitchWeights::PitchWeights(const PitchAxis& axis, double line_hz, double highest_hz)
    : steps_(axis.steps()),
      totals_(kPitches + kNoises),
      spared_(totals_.size(), 1.0f),
      model_((steps_ + kLanes - 1) / kLanes),
      ratio_(model_.size()),
      seen_(model_.size() * kLanes),
      around_(steps_) {
  const auto lines = static_cast<std::size_t>(highest_hz / line_hz) + 8;
  std::vector<float> steps(steps_);
  std::vector<Four> mapped(steps_);
  for (std::size_t pitch = 0; pitch < kPitches; ++pitch) {
    const double hz = key_hz(kLowestKey + static_cast<double>(pitch));
    // Bands whose middle is no more than three quarters of an octave past the axis's end.
    for (int band = 0; band < kBands && (band == 0 || std::exp2(band - 0.75) * hz < highest_hz); ++band) {
      axis.map(band_of_harmonics(band, hz, line_hz, lines), mapped);
      for (std::size_t i = 0; i < steps_; ++i) steps[i] = mapped[i][0];
      add(pitch, steps);
    }
  }
  // Noise of one band after another, for drums and breath.
  for (std::size_t n = 0; n < kNoises; ++n) {
    for (std::size_t i = 0; i < steps_; ++i) {
      const double x =
          static_cast<double>(i) / static_cast<double>(steps_ - 1) * (kNoises - 1) - static_cast<double>(n);
      steps[i] = static_cast<float>(std::max(0.0, 1 - std::abs(x)));
    }
    add(kPitches + n, steps);
  }
  weights_.resize(templates_.size());
  // A source's total is the sum of its templates' weights, each by its share in their mean size.
  std::vector<float> sizes(totals_.size()), count(totals_.size());
  for (const Template& it : templates_) sizes[it.source] += it.sum, ++count[it.source];
  for (Template& it : templates_) {
    it.share = it.sum * count[it.source] / sizes[it.source];
    it.a_sum = 1 / it.sum;
  }
  begin();
  model();
  first_model_ = model_;
}

// Keeps the stretch of the steps that is not silent.
void PitchWeights::add(std::size_t source, const std::vector<float>& steps) {
  const auto audible = [](float value) { return value > kAudible; };
  const auto first =
      static_cast<std::size_t>(std::find_if(steps.begin(), steps.end(), audible) - steps.begin());
  const auto past =
      static_cast<std::size_t>(std::find_if(steps.rbegin(), steps.rend(), audible).base() - steps.begin());
  Template made{source, blocks_.size(), 0, kTiny};
  for (std::size_t block = first / kLanes; block * kLanes < past; ++block) {
    Four shape{};
    float sum = 0;
    for (std::size_t lane = 0; lane < kLanes; ++lane) {
      const std::size_t step = block * kLanes + lane;
      shape[lane] = step >= first && step < past ? steps[step] : 0.0f;
      sum += shape[lane];
    }
    if (sum > 0) blocks_.push_back({block, shape});
    made.sum += sum;
  }
  made.past = blocks_.size();
  templates_.push_back(made);
}

// All alike.
void PitchWeights::begin() {
  active_.resize(templates_.size());
  std::iota(active_.begin(), active_.end(), std::size_t{0});
  std::fill(weights_.begin(), weights_.end(), 0.1f);
  add_up();
}

void PitchWeights::add_up() {
  std::fill(totals_.begin(), totals_.end(), 0.0f);
  for (const std::size_t t : active_) totals_[templates_[t].source] += weights_[t] * templates_[t].share;
}

void PitchWeights::model() {
  std::fill(model_.begin(), model_.end(), Four{} + 1e-4f);
  for (const std::size_t t : active_)
    for (std::size_t b = templates_[t].first; b < templates_[t].past; ++b)
      model_[blocks_[b].step] += weights_[t] * blocks_[b].shape;
}

// A multiplicative update of the weights that the model was made of.
void PitchWeights::fit() {
  for (std::size_t i = 0; i < ratio_.size(); ++i) ratio_[i] = four_at(seen_.data() + i * kLanes) / model_[i];
  // Little totals are made to pay most, so that a few pitches explain what many could. Noises pay nothing.
  for (std::size_t pitch = 0; pitch < kPitches; ++pitch)
    spared_[pitch] = 1 / (1 + kFew / (kFewFrom + totals_[pitch]));
  for (const std::size_t t : active_) {
    const Template& it = templates_[t];
    Four sums{};
    for (std::size_t b = it.first; b < it.past; ++b) sums += ratio_[blocks_[b].step] * blocks_[b].shape;
    weights_[t] *= ((sums[0] + sums[1]) + (sums[2] + sums[3])) * it.a_sum * spared_[it.source];
  }
  add_up();
}

// Most pitches do not sound, and that shows soon.
void PitchWeights::leave_out_the_silent() {
  const float most = *std::max_element(totals_.begin(), totals_.begin() + kPitches);
  std::erase_if(active_, [&](std::size_t t) { return totals_[templates_[t].source] <= kSilent * most; });
  add_up();
}

// The root of the spectrum, evened out in part by the fourth root of what is around each step, so that a
// formant weighs less; its root of mean square is returned and brought to 1.
float PitchWeights::see(std::span<const float> steps) {
  float sum = 0;
  std::size_t from = 0, until = 0;
  for (std::size_t i = 0; i < steps_; ++i) {
    while (until < std::min(steps_, i + kReach + 1)) sum += steps[until++];
    while (from + kReach < i) sum -= steps[from++];
    around_[i] = std::max(sum, 0.0f) / static_cast<float>(until - from);
  }
  float mean = 0;
  for (const float value : steps) mean += value / static_cast<float>(steps_);
  for (std::size_t i = 0; i < steps_; ++i) {
    const float coloured = std::sqrt(std::sqrt(around_[i] / (mean + kTiny) + kEvenedFrom));
    seen_[i] = std::sqrt((steps[i] + kTiny) / coloured);
  }
  const float level = root_of_mean_square(std::span(seen_).first(steps_));
  for (float& value : seen_) value /= level;
  return level;
}

std::span<const float> PitchWeights::of(std::span<const float> steps) {
  const float level = see(steps);
  begin();
  model_ = first_model_;
  for (int i = 0; i < kUpdates; ++i) {
    if (i > 0) model();
    fit();
    if (i % 3 == 2) leave_out_the_silent();
  }
  const std::span<float> pitches(totals_.data(), kPitches);
  const float mean = std::accumulate(seen_.begin(), seen_.end(), 0.0f) / static_cast<float>(steps_);
  const bool tonal = *std::max_element(pitches.begin(), pitches.end()) >= kTonal * mean;
  for (float& weight : pitches) weight *= tonal ? level : 0.0f;
  return pitches;
}

}  // namespace burstloom
