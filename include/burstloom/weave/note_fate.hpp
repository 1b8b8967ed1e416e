// What became of whole notes before any burst was wanted, and why: the weaving side of "nothing changes
// silently".
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace burstloom {

/// A stretch of a note's time either sounds (played, folded) or does not (skipped, stolen).
enum class NoteFateKind : std::uint8_t {
  played,   ///< as written
  folded,   ///< in another octave
  skipped,  ///< cannot be played: no length, no velocity, a percussion sound that is not in the table
  stolen    ///< gave way to another note for want of voices
};
[[nodiscard]] const char* name_of(NoteFateKind kind);

/// What became of a note between two moments. A note that is cut short has two of these, one after the other.
struct NoteFate {
  std::uint32_t note = 0;  ///< its index in the score
  double from_s = 0, to_s = 0;
  NoteFateKind what = NoteFateKind::played;
  int octaves = 0;                    ///< folded: by so many, downwards negative
  std::string why;                    ///< in words; empty for played
  std::optional<std::uint32_t> by{};  ///< stolen: the note that took the voice
  friend bool operator==(const NoteFate&, const NoteFate&) = default;
};

}  // namespace burstloom
