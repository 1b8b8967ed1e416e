// How well notes were heard, by the published definitions.
#pragma once

#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom {

/// Precision, recall and their harmonic mean, 0 to 1; all 0 where nothing matches.
struct Scores {
  double precision = 0, recall = 0, f = 0;
};

/// What two notes must share to match.
struct NoteRules {
  bool pitch = true;    ///< within half a semitone
  bool onset = true;    ///< within 50 ms
  bool offset = false;  ///< within 50 ms or a fifth of the reference's length, whichever is more
};

/// Note tracking as in MIREX 2015 and mir_eval's documentation: the largest number of pairs, each note in one
/// pair at most.
[[nodiscard]] Scores note_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                                 const NoteRules& rules = {});

/// Pitches that sound in each 10 ms, matched within half a semitone (multi-pitch estimation as in mir_eval,
/// after M. Bay, A. Ehmann and J. Downie, ISMIR 2009).
[[nodiscard]] Scores frame_scores(const std::vector<Note>& reference, const std::vector<Note>& estimated,
                                  double length_s);

/// The score's notes without drums and without what has no length.
[[nodiscard]] std::vector<Note> pitched(const Score& score);

}  // namespace burstloom
