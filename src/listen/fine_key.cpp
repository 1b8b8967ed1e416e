#include "fine_key.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLooks = 9;   // pairs of windows a note
constexpr std::size_t kMargin = 8;  // frames after its beginning and before its end, where windows reach out
constexpr double kFurthest = 0.6;   // semitones from the whole key
constexpr double kUnsteady = 0.25;  // semitones between quartiles

std::complex<double> line_of(const Spectra& spectra, std::size_t line) {
  return {static_cast<double>(spectra.lines()[line].r), static_cast<double>(spectra.lines()[line].i)};
}

}  // namespace

FineKey::FineKey(const Thinned& sound)
    : spectra_(sound, static_cast<std::size_t>(std::exp2(std::round(std::log2(0.186 * sound.rate_hz))))) {}

double FineKey::operator()(const HeardNote& note) {
  const double key = kLowestKey + static_cast<double>(note.pitch), hz = key_hz(key);
  if (note.past < note.first + 2 * kMargin + 2) return key;
  const double from_s = static_cast<double>(note.first + kMargin) * kHop_s;
  const double until_s = static_cast<double>(note.past - kMargin) * kHop_s;
  std::vector<double> keys;
  for (std::size_t look = 0; look < kLooks; ++look) {
    const double at_s = from_s + (until_s - from_s) * static_cast<double>(look) / (kLooks - 1);
    const auto magnitudes = spectra_.around(at_s - kHop_s / 2);
    // The strongest of the first harmonics, at its strongest line.
    std::size_t line = 0;
    int harmonic = 1;
    for (int h = 1; h <= 4; ++h) {
      const auto middle = static_cast<std::size_t>(std::lround(h * hz / spectra_.line_hz()));
      for (std::size_t k = middle - 1; k <= middle + 1 && k + 1 < magnitudes.size(); ++k)
        if (magnitudes[k] > magnitudes[line] || line == 0) line = k, harmonic = h;
    }
    const std::complex<double> before = line_of(spectra_, line);
    (void)spectra_.around(at_s + kHop_s / 2);
    const std::complex<double> after = line_of(spectra_, line);
    const double moved_s = std::round((at_s + kHop_s / 2) * spectra_.rate_hz()) / spectra_.rate_hz() -
                           std::round((at_s - kHop_s / 2) * spectra_.rate_hz()) / spectra_.rate_hz();
    // The turn beyond what the middle of the line would make.
    const double line_hz = static_cast<double>(line) * spectra_.line_hz();
    const double turn =
        std::arg(after * std::conj(before) * std::polar(1.0, -2 * std::numbers::pi * line_hz * moved_s));
    const double found_hz = line_hz + turn / (2 * std::numbers::pi * moved_s);
    keys.push_back(69 + 12 * std::log2(found_hz / harmonic / 440));
  }
  std::sort(keys.begin(), keys.end());
  const double middle = keys[kLooks / 2], spread = keys[3 * kLooks / 4] - keys[kLooks / 4];
  return std::abs(middle - key) <= kFurthest && spread <= kUnsteady ? middle : key;
}

}  // namespace burstloom
