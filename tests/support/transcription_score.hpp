// How well notes were heard, by the published definitions: MIREX 2015 note tracking as in mir_eval's
// documentation (onset within 50 ms, pitch within 50 cents, maximum bipartite matching), and per-frame scores
// on a grid of 10 ms.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom::testing {

struct Scores {
  double precision = 0, recall = 0, f = 0;
};

inline Scores scores_of(double matched, double estimated, double reference) {
  Scores scores;
  if (estimated > 0) scores.precision = matched / estimated;
  if (reference > 0) scores.recall = matched / reference;
  if (matched > 0) scores.f = 2 * scores.precision * scores.recall / (scores.precision + scores.recall);
  return scores;
}

struct NoteRules {
  bool pitch = true, onset = true, offset = false;
};

inline bool matches(const Note& reference, const Note& estimate, const NoteRules& rules) {
  const auto within = [](double a, double b, double tolerance) {
    return std::abs(std::round((a - b) * 1e4) / 1e4) <= tolerance;
  };
  const double offset_s = std::max(0.05, 0.2 * (reference.end_s - reference.start_s));
  return (!rules.onset || within(reference.start_s, estimate.start_s, 0.05)) &&
         (!rules.pitch || std::abs(reference.key - estimate.key) <= 0.5) &&
         (!rules.offset || within(reference.end_s, estimate.end_s, offset_s));
}

/// The largest number of pairs: augmenting paths (Kuhn 1955).
inline std::size_t largest_matching(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                                    const NoteRules& rules) {
  std::vector<int> partner(estimated.size(), -1);
  std::vector<bool> seen;
  const std::function<bool(std::size_t)> find = [&](std::size_t i) {
    for (std::size_t k = 0; k < estimated.size(); ++k) {
      if (seen[k] || !matches(reference[i], estimated[k], rules)) continue;
      seen[k] = true;
      if (partner[k] >= 0 && !find(static_cast<std::size_t>(partner[k]))) continue;
      partner[k] = static_cast<int>(i);
      return true;
    }
    return false;
  };
  std::size_t matched = 0;
  for (std::size_t i = 0; i < reference.size(); ++i) {
    seen.assign(estimated.size(), false);
    matched += find(i) ? 1 : 0;
  }
  return matched;
}

inline Scores note_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                          const NoteRules& rules = {}) {
  return scores_of(static_cast<double>(largest_matching(reference, estimated, rules)),
                   static_cast<double>(estimated.size()), static_cast<double>(reference.size()));
}

/// Pitches that sound in each 10 ms, matched within half a semitone.
inline Scores frame_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                           double length_s) {
  double matched = 0, in_estimate = 0, in_reference = 0;
  const auto sounding = [](const std::vector<Note>& notes, double at_s) {
    std::vector<double> keys;
    for (const Note& note : notes)
      if (note.start_s <= at_s && at_s < note.end_s) keys.push_back(note.key);
    std::sort(keys.begin(), keys.end());
    return keys;
  };
  for (double at_s = 0.005; at_s < length_s; at_s += 0.01) {
    const std::vector<double> wanted = sounding(reference, at_s), heard = sounding(estimated, at_s);
    in_reference += static_cast<double>(wanted.size());
    in_estimate += static_cast<double>(heard.size());
    // Sorted and one-dimensional: the nearest free one is a largest matching.
    for (std::size_t i = 0, k = 0; i < wanted.size() && k < heard.size();) {
      if (std::abs(wanted[i] - heard[k]) <= 0.5)
        ++matched, ++i, ++k;
      else
        wanted[i] < heard[k] ? ++i : ++k;
    }
  }
  return scores_of(matched, in_estimate, in_reference);
}

/// Without drums.
inline std::vector<Note> pitched(const Score& score) {
  std::vector<Note> notes;
  for (const Note& note : score.notes)
    if (note.part != Part::drums && note.end_s > note.start_s) notes.push_back(note);
  return notes;
}

}  // namespace burstloom::testing
