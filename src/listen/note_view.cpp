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

std::vector<PitchFrame> weights_of(const Thinned& sound, std::size_t frames) {
  Spectra spectra(sound, window_of(kLongWindow_s, sound.rate_hz));
  const double highest_hz = std::min(kHighest_hz, 0.45 * sound.rate_hz);
  const PitchAxis axis(spectra.line_hz(), highest_hz);
  PitchWeights weights(axis, spectra.line_hz(), highest_hz);
  std::vector<float> steps(axis.steps());
  std::vector<PitchFrame> all(frames);
  // Every second frame, for the window is eighteen frames long; between two, their mean.
  for (std::size_t n = 0; n < frames; n += 2) {
    axis.map(spectra.around(static_cast<double>(n) * kHop_s), steps);
    const auto found = weights.of(steps);
    std::copy(found.begin(), found.end(), all[n].begin());
    if (n > 0)
      for (std::size_t p = 0; p < kPitches; ++p) all[n - 1][p] = (all[n - 2][p] + all[n][p]) / 2;
  }
  if (frames >= 2 && frames % 2 == 0) all[frames - 1] = all[frames - 2];
  return all;
}

std::vector<PitchFrame> attack_of(const Thinned& sound, std::size_t frames) {
  constexpr int kHarmonics = 6;
  Spectra spectra(sound, window_of(kShortWindow_s, sound.rate_hz));
  std::vector<std::vector<std::size_t>> lines(kPitches);
  for (std::size_t p = 0; p < kPitches; ++p)
    for (int h = 1; h <= kHarmonics; ++h) {
      const double hz = h * key_hz(kLowestKey + static_cast<double>(p));
      if (hz < std::min(kHighest_hz, 0.45 * sound.rate_hz))
        lines[p].push_back(static_cast<std::size_t>(std::lround(hz / spectra.line_hz())));
    }
  std::vector<PitchFrame> all(frames);
  for (std::size_t n = 0; n < frames; ++n) {
    const auto magnitudes = spectra.around(static_cast<double>(n) * kHop_s);
    for (std::size_t p = 0; p < kPitches; ++p) {
      float energy = 1e-8f;
      for (const std::size_t line : lines[p]) energy += magnitudes[line] * magnitudes[line];
      all[n][p] = 10 * std::log10(energy);
    }
  }
  return all;
}

std::vector<float> loudest_around(const std::vector<PitchFrame>& frames) {
  std::vector<float> most(frames.size()), around(frames.size());
  for (std::size_t n = 0; n < frames.size(); ++n)
    most[n] = *std::max_element(frames[n].begin(), frames[n].end());
  for (std::size_t n = 0; n < frames.size(); ++n) {
    const auto first = most.begin() + static_cast<std::ptrdiff_t>(n > kReach ? n - kReach : 0);
    const auto past = most.begin() + static_cast<std::ptrdiff_t>(std::min(frames.size(), n + kReach + 1));
    around[n] = *std::max_element(first, past);
  }
  return around;
}

}  // namespace

NoteView note_view(const Thinned& sound, double length_s) {
  const auto frames = static_cast<std::size_t>(length_s / kHop_s) + 1;
  NoteView view{weights_of(sound, frames), attack_of(sound, frames), {}};
  view.loudest = loudest_around(view.weights);
  return view;
}

}  // namespace burstloom
