#include "burstloom/listen/likeness.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "note_view.hpp"
#include "thinned.hpp"
#include "usable.hpp"

namespace burstloom {
namespace {

using Chroma = std::array<double, 12>;

// Weights are roots of amplitudes; squared, what is loud counts.
std::vector<Chroma> chroma_of(const SoundSource& sound) {
  require_usable_rate(sound.rate_hz());
  Thinned thinned(sound);
  const WeightFrames weights = note_view(thinned, sound.length_s()).weights;
  std::vector<Chroma> all(weights.size());
  for (std::size_t n = 0; n < weights.size(); ++n)
    for (std::size_t p = 0; p < kPitches; ++p) {
      const auto weight = static_cast<double>(weights[n][p]);
      all[n][(p + kLowestKey) % 12] += weight * weight;
    }
  return all;
}

double product(const Chroma& a, const Chroma& b) {
  double sum = 0;
  for (std::size_t i = 0; i < 12; ++i) sum += a[i] * b[i];
  return sum;
}

}  // namespace

double chroma_likeness(const SoundSource& source, const SoundSource& other) {
  const std::vector<Chroma> wanted = chroma_of(source), found = chroma_of(other);
  double alike = 0, loud = 0;
  for (std::size_t n = 0; n < wanted.size(); ++n) {
    const double level = std::sqrt(product(wanted[n], wanted[n]));
    loud += level;
    if (n >= found.size()) continue;
    const double sizes = level * std::sqrt(product(found[n], found[n]));
    if (sizes > 0) alike += level * product(wanted[n], found[n]) / sizes;
  }
  return loud > 0 ? alike / loud : 0;
}

}  // namespace burstloom
