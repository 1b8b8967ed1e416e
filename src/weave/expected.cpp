#include "expected.hpp"

#include <algorithm>

#include "drums.hpp"

namespace burstloom::weave_detail {

double expected_bursts(const std::vector<Sounding>& sounding, const Score& score, double highest_hz) {
  double bursts = 0;
  for (const Sounding& it : sounding) {
    const auto channel = static_cast<std::size_t>(score.notes[it.note].channel & 15);
    const double bent = it.key + value_at(score.channels[channel].bend, it.start_s, 0);
    bursts += (it.end_s - it.start_s) * std::min(key_hz(bent), highest_hz) + 1;
  }
  return bursts;
}

// One stroke sounds at a time.
double expected_drum_bursts(const Score& score) {
  constexpr double kFastest_hz = 1800;
  double bursts = 0;
  for (const Note& note : score.notes)
    if (const Gesture* gesture = note.part == Part::drums ? gesture_of(note.key) : nullptr)
      bursts += gesture->length_s * gesture->from_hz + 1;
  return std::min(bursts, score.length_s * kFastest_hz);
}

double expected_bursts(const PitchTrack& track, double length_s, double highest_hz) {
  double bursts = 0;
  for (std::size_t i = 0; i < track.points.size(); ++i) {
    const double until_s = i + 1 < track.points.size() ? track.points[i + 1].at_s : length_s;
    bursts += std::min(track.points[i].hz, highest_hz) * (until_s - track.points[i].at_s);
  }
  return bursts;
}

}  // namespace burstloom::weave_detail
