// From weights of pitches to notes: where each begins and ends, and which are no notes at all.
#pragma once

#include <cstddef>
#include <vector>

#include "note_view.hpp"

namespace burstloom {

/// A pitch that sounds from one frame to another.
struct HeardNote {
  std::size_t pitch = 0;            ///< kLowestKey is 0
  std::size_t first = 0, past = 0;  ///< frames
  float peak = 0;                   ///< the highest weight within
};

/// The notes of a whole view, in order of time.
[[nodiscard]] std::vector<HeardNote> track_notes(const NoteView& view);

}  // namespace burstloom
