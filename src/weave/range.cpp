#include "range.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "burstloom/weave/weave.hpp"

namespace burstloom::weave_detail {
namespace {

// The notes' keys, and the range that they should be in, in octaves above A4's 440 Hz.
double octave_of(double hz) {
  return std::log2(hz / 440.0);
}
constexpr double kHair = 1e-9;  // a note right at a limit is inside

struct Range {
  double low, high;
  [[nodiscard]] bool holds(double octave) const { return octave >= low - kHair && octave <= high + kHair; }
  /// The fewest octaves that bring `octave` inside; under `high` in any case.
  [[nodiscard]] int shift_for(double octave) const {
    if (octave > high + kHair) return static_cast<int>(std::floor(high + kHair - octave));
    if (octave >= low - kHair) return 0;
    const auto up = static_cast<int>(std::ceil(low - kHair - octave));
    return octave + up <= high + kHair ? up : static_cast<int>(std::floor(high + kHair - octave));
  }
};

struct Phrase {
  double end_s = 0;
  std::vector<std::size_t> notes;
};

class Mover {
 public:
  Mover(const Score& score, Range range) : range_(range), moved_(score.notes.size(), 0) {
    for (const Note& note : score.notes) {
      const StepCurve& bend = score.channels[static_cast<std::size_t>(note.channel & 15)].bend;
      octaves_.push_back((note.key + value_at(bend, note.start_s, 0) - 69) / 12);
    }
  }

  void move(const Phrase& phrase) {
    const int shift = best_shift(phrase);
    for (const std::size_t i : phrase.notes) moved_[i] = shift + range_.shift_for(octaves_[i] + shift);
  }

  [[nodiscard]] std::vector<int> moved() && { return std::move(moved_); }

 private:
  [[nodiscard]] std::ptrdiff_t outside(const Phrase& phrase, int shift) const {
    return std::count_if(phrase.notes.begin(), phrase.notes.end(),
                         [&](std::size_t i) { return !range_.holds(octaves_[i] + shift); });
  }

  // The fewest octaves that leave the fewest notes outside; only shifts that bring some note inside are
  // looked at.
  [[nodiscard]] int best_shift(const Phrase& phrase) const {
    int best = 0;
    std::ptrdiff_t fewest = outside(phrase, 0);
    if (fewest == 0) return 0;
    std::vector<int> shifts;
    for (const std::size_t i : phrase.notes) shifts.push_back(range_.shift_for(octaves_[i]));
    std::sort(shifts.begin(), shifts.end(),
              [](int a, int b) { return std::abs(a) != std::abs(b) ? std::abs(a) < std::abs(b) : a < b; });
    shifts.erase(std::unique(shifts.begin(), shifts.end()), shifts.end());
    for (const int shift : shifts)
      if (const auto left = outside(phrase, shift); left < fewest) best = shift, fewest = left;
    return best;
  }

  Range range_;
  std::vector<double> octaves_;
  std::vector<int> moved_;
};

}  // namespace

std::vector<int> octaves_moved(const Score& score, double lowest_hz, double highest_hz) {
  Mover mover(score, {octave_of(lowest_hz), octave_of(highest_hz)});
  std::map<std::pair<int, int>, Phrase> open;
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    const Note& note = score.notes[i];
    if (note.part == Part::drums) continue;
    Phrase& phrase = open[{note.track, note.channel}];
    if (!phrase.notes.empty() && note.start_s - phrase.end_s >= kPhraseGap_s) {
      mover.move(phrase);
      phrase = {};
    }
    phrase.end_s = phrase.notes.empty() ? note.end_s : std::max(phrase.end_s, note.end_s);
    phrase.notes.push_back(i);
  }
  for (const auto& [line, phrase] : open) mover.move(phrase);
  return std::move(mover).moved();
}

int octaves_moved(double key, double lowest_hz, double highest_hz) {
  return Range{octave_of(lowest_hz), octave_of(highest_hz)}.shift_for((key - 69) / 12);
}

}  // namespace burstloom::weave_detail
