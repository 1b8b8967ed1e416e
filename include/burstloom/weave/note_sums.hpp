// How many notes came through, counted note by note from what a stream tells of its notes.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "burstloom/stream/account.hpp"
#include "burstloom/weave/note_fate.hpp"

namespace burstloom {

/// What took notes, or parts of them: a limit by its name, or a reason in words ("no voice left").
struct NoteLoss {
  std::string reason;
  std::int64_t notes = 0;
  friend bool operator==(const NoteLoss&, const NoteLoss&) = default;
};

/// read = whole + cut_short + not_played. A note that is not whole counts under one reason: why it was
/// skipped or lost its voice, else the limit that took the most of its bursts.
struct NoteSums {
  std::int64_t read = 0;
  std::int64_t whole = 0;                             ///< every burst that it wanted sounds
  std::int64_t cut_short = 0;                         ///< sounds, but lost bursts or its voice
  std::int64_t not_played = 0;                        ///< no burst of it sounds
  std::int64_t other_octave = 0;                      ///< of those that sound
  std::vector<NoteLoss> cut_short_by, not_played_by;  ///< the most notes first
  friend bool operator==(const NoteSums&, const NoteSums&) = default;
};

[[nodiscard]] NoteSums note_sums(const Account& account);

/// What became of a note as a whole, as `AccountedNote::said` has it: "stolen from 0:12.034: no voice left".
[[nodiscard]] std::string words_of(const NoteFate& fate);

}  // namespace burstloom
