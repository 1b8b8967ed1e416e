// Generated chords, to measure placement on: what the design measured, as scores.
#pragma once

#include <algorithm>

#include "burstloom/coil/profile.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom::testing {

/// The coil of the design's chords: bursts of 40 us, gaps of 200 us, and nothing else in the way.
inline Profile chord_coil() {
  Profile profile;
  profile.name = "chords";
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = profile.limits.on_time_max_us = 40;
  profile.limits.gap_us = 200;
  profile.limits.duty = {{1000, 100}};
  return profile;
}

/// Major triads in close position, half a second each, their roots rising by semitones over an octave from
/// A3, twice.
inline Score triads() {
  Score score;
  for (int chord = 0; chord < 24; ++chord)
    for (const int step : {0, 4, 7})
      score.notes.push_back({chord * 0.5, chord * 0.5 + 0.5, 57.0 + chord % 12 + step, 0.8});
  score.length_s = 12;
  return score;
}

/// Four voices: bass, two inner voices and a melody that moves twice as fast, eight bars of invented harmony.
inline Score four_voices() {
  Score score;
  constexpr int roots[] = {45, 50, 43, 48, 41, 47, 40, 45};
  for (int bar = 0; bar < 8; ++bar) {
    const double at = bar;
    score.notes.push_back({at, at + 1, static_cast<double>(roots[bar]), 0.8, 1});
    score.notes.push_back({at, at + 1, roots[bar] + 15.0, 0.7, 2});
    score.notes.push_back({at, at + 1, roots[bar] + 19.0, 0.7, 2});
    score.notes.push_back({at, at + 0.5, roots[bar] + 24.0, 0.8, 0});
    score.notes.push_back({at + 0.5, at + 1, roots[bar] + 27.0, 0.8, 0});
  }
  score.length_s = 8;
  std::stable_sort(score.notes.begin(), score.notes.end(), [](const Note& a, const Note& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : a.key < b.key;
  });
  return score;
}

}  // namespace burstloom::testing
