#include "fine_key.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "burstloom/score/score.hpp"
#include "spectra.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLooks = 9;   // pairs of windows a note
constexpr std::size_t kMargin = 8;  // frames after its beginning and before its end, where windows reach out
constexpr double kFurthest = 0.6;   // semitones from the whole key
constexpr double kUnsteady = 0.25;  // semitones between quartiles

std::complex<double> line_of(const Spectra& spectra, std::size_t line, std::size_t lane) {
  const FourComplex value = spectra.lines()[line];
  return {static_cast<double>(value.re[lane]), static_cast<double>(value.im[lane])};
}

double key_of(const HeardNote& note) {
  return kLowestKey + static_cast<double>(note.pitch);
}

// A moment at which a note is looked at.
struct Look {
  double at_s;
  std::size_t note;
};

std::vector<Look> looks_at(const std::vector<HeardNote>& notes) {
  std::vector<Look> looks;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    if (notes[i].past < notes[i].first + 2 * kMargin + 2) continue;
    const double from_s = static_cast<double>(notes[i].first + kMargin) * kHop_s;
    const double until_s = static_cast<double>(notes[i].past - kMargin) * kHop_s;
    for (std::size_t look = 0; look < kLooks; ++look)
      looks.push_back({from_s + (until_s - from_s) * static_cast<double>(look) / (kLooks - 1), i});
  }
  std::stable_sort(looks.begin(), looks.end(), [](const Look& a, const Look& b) { return a.at_s < b.at_s; });
  return looks;
}

// The key that a note near `hz` has at a moment, by lanes half a hop before and after it.
double key_at(const Spectra& spectra, std::span<const Four> energies, std::size_t lane, double at_s,
              double hz) {
  // The strongest of the first harmonics, at its strongest line.
  std::size_t line = 0;
  int harmonic = 1;
  for (int h = 1; h <= 4; ++h) {
    const auto middle = static_cast<std::size_t>(std::lround(h * hz / spectra.line_hz()));
    for (std::size_t k = middle - 1; k <= middle + 1 && k + 1 < energies.size(); ++k)
      if (energies[k][lane] > energies[line][lane] || line == 0) line = k, harmonic = h;
  }
  const std::complex<double> before = line_of(spectra, line, lane), after = line_of(spectra, line, lane + 1);
  const double rate_hz = spectra.rate_hz();
  const double moved_s = std::round((at_s + kHop_s / 2) * rate_hz) / rate_hz -
                         std::round((at_s - kHop_s / 2) * rate_hz) / rate_hz;
  // The turn beyond what the middle of the line would make.
  const double line_hz = static_cast<double>(line) * spectra.line_hz();
  const double turn =
      std::arg(after * std::conj(before) * std::polar(1.0, -2 * std::numbers::pi * line_hz * moved_s));
  const double found_hz = line_hz + turn / (2 * std::numbers::pi * moved_s);
  return 69 + 12 * std::log2(found_hz / harmonic / 440);
}

}  // namespace

std::vector<double> fine_keys(Thinned& sound, const std::vector<HeardNote>& notes) {
  Spectra spectra(sound, static_cast<std::size_t>(std::exp2(std::round(std::log2(0.186 * sound.rate_hz)))));
  std::vector<std::vector<double>> seen(notes.size());
  const std::vector<Look> looks = looks_at(notes);
  for (std::size_t i = 0; i < looks.size(); i += 2) {
    const double one_s = looks[i].at_s, other_s = looks[std::min(i + 1, looks.size() - 1)].at_s;
    const auto energies =
        spectra.around({one_s - kHop_s / 2, one_s + kHop_s / 2, other_s - kHop_s / 2, other_s + kHop_s / 2});
    for (std::size_t k = i; k < std::min(i + 2, looks.size()); ++k) {
      const std::size_t note = looks[k].note;
      seen[note].push_back(
          key_at(spectra, energies, 2 * (k - i), looks[k].at_s, key_hz(key_of(notes[note]))));
    }
  }
  std::vector<double> keys;
  for (std::size_t i = 0; i < notes.size(); ++i) {
    keys.push_back(key_of(notes[i]));
    if (seen[i].empty()) continue;
    std::sort(seen[i].begin(), seen[i].end());
    const double middle = seen[i][kLooks / 2], spread = seen[i][3 * kLooks / 4] - seen[i][kLooks / 4];
    if (std::abs(middle - keys[i]) <= kFurthest && spread <= kUnsteady) keys[i] = middle;
  }
  return keys;
}

}  // namespace burstloom
