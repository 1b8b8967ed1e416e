#include "burstloom/listen/beats.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr double kSlowest_hz = 1.0, kFastest_hz = 200.0 / 60;
// Log-normal about 600 ms with a deviation of an octave: the form of D. Ellis, Journal of New Music Research
// 36(1), 2007, the middle after R. Parncutt, Music Perception 11(4), 1994 (both from memory). Of a rate and
// its double the one from 71 to 141 a minute is the likelier.
constexpr double kPreferred_hz = 1 / 0.6;
constexpr std::size_t kFewest = 8;
constexpr double kLeastClarity = 0.35;

// The mean of all beginnings on a circle that turns once a beat: long where they agree.
std::complex<double> agreement(const Score& score, double hz) {
  std::complex<double> sum = 0;
  double weight = 0;
  for (const Note& note : score.notes) {
    sum += std::polar(note.velocity, 2 * std::numbers::pi * hz * note.start_s);
    weight += note.velocity;
  }
  return weight > 0 ? sum / weight : 0;
}

// On beats and half-way between alike: notes there are no sign of twice the rate.
double clarity_at(const Score& score, double hz) {
  return std::abs(agreement(score, 2 * hz));
}

// In turns, 0 to 1: of the two phases that the halves of beats leave, the one nearer to what beats alone say.
double phase_at(const Score& score, double hz) {
  const auto turns = [](std::complex<double> value) { return std::arg(value) / (2 * std::numbers::pi); };
  const double half = turns(agreement(score, 2 * hz)) / 2, beat = turns(agreement(score, hz));
  const double phase = std::abs(std::remainder(half - beat, 1)) <= 0.25 ? half : half + 0.5;
  return phase - std::floor(phase);
}

double preference(double hz) {
  const double octaves = std::log2(hz / kPreferred_hz);
  return std::exp(-octaves * octaves / 2);
}

}  // namespace

std::optional<Beats> beats_of(const Score& score) {
  if (score.notes.size() < kFewest) return std::nullopt;
  // Fine enough that the last note is no more than a tenth of a beat off between two steps.
  const double step = 0.1 / std::max(1.0, score.length_s);
  double best_hz = 0, best = 0;
  for (double hz = kSlowest_hz; hz <= kFastest_hz; hz += step)
    if (const double here = clarity_at(score, hz) * preference(hz); here > best) best = here, best_hz = hz;
  const double clarity = clarity_at(score, best_hz);
  if (clarity < kLeastClarity) return std::nullopt;
  return Beats{phase_at(score, best_hz) / best_hz, 1 / best_hz, clarity};
}

Score snapped(Score score, const Beats& beats, int parts) {
  if (parts < 1 || parts > 16)
    throw Error(Fault::usage, "a beat in " + std::to_string(parts) + " parts", "--snap", "choose 1 to 16");
  const double part_s = beats.period_s / parts;
  for (Note& note : score.notes) {
    const double place = (note.start_s - beats.first_s) / part_s, off = place - std::round(place);
    if (std::abs(off) > 1.0 / 3) continue;
    const double moved_s = std::max(-note.start_s, -off * part_s);
    note.start_s += moved_s;
    note.end_s = std::min(note.end_s + moved_s, score.length_s);
  }
  std::stable_sort(score.notes.begin(), score.notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
  return score;
}

}  // namespace burstloom
