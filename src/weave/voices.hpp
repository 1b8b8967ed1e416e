// Who sounds: notes shared out to the few voices of one spark.
#pragma once

#include <vector>

#include "burstloom/score/score.hpp"
#include "burstloom/weave/note_fate.hpp"

namespace burstloom::weave_detail {

/// A note, or what is left of it, in a voice of its own.
struct Sounding {
  std::size_t note = 0;  ///< its index in the score
  double start_s = 0, end_s = 0;
  double key = 69;  ///< as played, moved by octaves or not; without bend
  int voice = 0;
  Part part = Part::inner;  ///< at its onset
  bool part_is_stated = false;
};

struct Shared {
  std::vector<Sounding> sounding;  ///< in order of start
  std::vector<NoteFate> fates;     ///< of all notes but percussion, in order of note, then time
};

/// What each of the notes that sound together is right now, from the parts that they had at their onsets: of
/// those that lead, the one that began last leads now (the highest of equals); the bass is a stated one, else
/// the lowest that does not lead; all others are inner voices. A stated inner voice stays one.
[[nodiscard]] std::vector<Part> roles_now(const std::vector<const Sounding*>& together);

/// Shares `voices` voices out: when a note comes in and none is free, one of those sounding gives way for
/// good (so nothing flickers). In this order: doublings of a note of higher standing (unisons, then octaves),
/// inner voices, the bass, the lead; of equals the softest, then the oldest. What would sound for less than
/// kShortestSound_s before it gave way is not begun. `parts` and `octaves` (by note): parts.hpp, range.hpp.
[[nodiscard]] Shared share_voices(const Score& score, int voices, const std::vector<Part>& parts,
                                  const std::vector<int>& octaves);

}  // namespace burstloom::weave_detail
