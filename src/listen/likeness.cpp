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
std::vector<Chroma> chroma_of(const Sound& sound) {
  require_usable_rate(sound);
  std::vector<Chroma> all;
  for (const PitchFrame& frame : note_view(thin_out(sound), sound.length_s()).weights) {
    Chroma chroma{};
    for (std::size_t p = 0; p < kPitches; ++p)
      chroma[(p + kLowestKey) % 12] += static_cast<double>(frame[p]) * static_cast<double>(frame[p]);
    all.push_back(chroma);
  }
  return all;
}

double product(const Chroma& a, const Chroma& b) {
  double sum = 0;
  for (std::size_t i = 0; i < 12; ++i) sum += a[i] * b[i];
  return sum;
}

}  // namespace

double chroma_likeness(const Sound& source, const Sound& other) {
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
