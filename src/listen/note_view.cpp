#include "note_view.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/score/score.hpp"
#include "spectra.hpp"

namespace burstloom {
namespace {

constexpr double kLongWindow_s = 0.186, kShortWindow_s = 0.046, kHighest_hz = 4000;
constexpr std::size_t kReach = 25;  // frames

// The power of two next to a length: fast, and the same window in time at any rate.
std::size_t window_of(double seconds, double rate_hz) {
  return static_cast<std::size_t>(std::exp2(std::round(std::log2(seconds * rate_hz))));
}

class WeightsAt {
 public:
  explicit WeightsAt(Thinned& sound)
      : spectra_(sound, window_of(kLongWindow_s, sound.rate_hz)),
        highest_hz_(std::min(kHighest_hz, 0.45 * sound.rate_hz)),
        axis_(spectra_.line_hz(), highest_hz_),
        weights_(axis_, spectra_.line_hz(), highest_hz_),
        magnitudes_(
            std::min(spectra_.size() / 2, static_cast<std::size_t>(highest_hz_ / spectra_.line_hz()) + 1) +
            1),
        steps_(axis_.steps()),
        own_(axis_.steps()) {}
  void look(const Moments4& at_s) {
    const auto energies = spectra_.around(at_s);
    for (std::size_t i = 0; i < magnitudes_.size(); ++i)
      for (std::size_t lane = 0; lane < kLanes; ++lane) magnitudes_[i][lane] = std::sqrt(energies[i][lane]);
    axis_.map(magnitudes_, steps_);
  }
  /// Of one of the moments looked at last.
  std::span<const float> operator[](std::size_t lane) {
    for (std::size_t i = 0; i < own_.size(); ++i) own_[i] = steps_[i][lane];
    return weights_.of(own_);
  }

 private:
  Spectra spectra_;
  double highest_hz_;
  PitchAxis axis_;
  PitchWeights weights_;
  std::vector<Four> magnitudes_, steps_;
  std::vector<float> own_;  // one moment's
};

class AttackAt {
 public:
  explicit AttackAt(Thinned& sound) : spectra_(sound, window_of(kShortWindow_s, sound.rate_hz)) {
    constexpr int kHarmonics = 6;
    for (std::size_t p = 0; p < kPitches; ++p)
      for (int h = 1; h <= kHarmonics; ++h) {
        const double hz = h * key_hz(kLowestKey + static_cast<double>(p));
        if (hz < std::min(kHighest_hz, 0.45 * sound.rate_hz))
          lines_[p].push_back(static_cast<std::size_t>(std::lround(hz / spectra_.line_hz())));
      }
  }
  std::array<PitchFrame, kLanes> operator()(const Moments4& at_s) {
    const auto energies = spectra_.around(at_s);
    std::array<PitchFrame, kLanes> levels_db;
    for (std::size_t p = 0; p < kPitches; ++p) {
      Four energy = Four{} + 1e-8f;
      for (const std::size_t line : lines_[p]) energy += energies[line];
      for (std::size_t lane = 0; lane < kLanes; ++lane) levels_db[lane][p] = 10 * std::log10(energy[lane]);
    }
    return levels_db;
  }

 private:
  Spectra spectra_;
  std::array<std::vector<std::size_t>, kPitches> lines_;
};

std::vector<float> loudest_around(const WeightFrames& frames) {
  std::vector<float> most(frames.size()), around(frames.size());
  for (std::size_t n = 0; n < frames.size(); ++n) most[n] = frames[n].strongest();
  for (std::size_t n = 0; n < frames.size(); ++n) {
    const auto first = most.begin() + static_cast<std::ptrdiff_t>(n > kReach ? n - kReach : 0);
    const auto past = most.begin() + static_cast<std::ptrdiff_t>(std::min(frames.size(), n + kReach + 1));
    around[n] = *std::max_element(first, past);
  }
  return around;
}

}  // namespace

// Both windows in one go: the sound is read once.
NoteView note_view(Thinned& sound, double length_s) {
  WeightsAt weights(sound);
  AttackAt attack(sound);
  const auto frames = static_cast<std::size_t>(length_s / kHop_s) + 1;
  NoteView view;
  view.attack.reserve(frames);
  const auto moments = [](std::size_t first, std::size_t apart) {
    Moments4 at_s;
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      at_s[lane] = static_cast<double>(first + lane * apart) * kHop_s;
    return at_s;
  };
  // Weights of every second frame, for their window is eighteen frames long; between two of them, their mean.
  PitchFrame last{};
  for (std::size_t n = 0; n < frames; ++n) {
    if (n % kLanes == 0)
      for (std::size_t lane = 0; const PitchFrame& levels : attack(moments(n, 1)))
        if (n + lane++ < frames) view.attack.add(levels);
    if (n % (2 * kLanes) == 0) weights.look(moments(n, 2));
    if (n % 2 != 0) continue;
    const std::span<const float> now = weights[n / 2 % kLanes];
    if (n > 0) {
      for (std::size_t p = 0; p < kPitches; ++p) last[p] = (last[p] + now[p]) / 2;
      view.weights.add(last);
    }
    view.weights.add(now);
    std::copy(now.begin(), now.end(), last.begin());
  }
  if (frames % 2 == 0) view.weights.add(last);
  view.loudest = loudest_around(view.weights);
  return view;
}

}  // namespace burstloom
