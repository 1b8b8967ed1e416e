// Bars of notes as text, for the songs of this folder: "D5*2 E5 | F5 _ D5".
#pragma once

#include <string_view>
#include <vector>

namespace samples {

struct Written {
  double beat = 0;   ///< where it starts, from the first bar
  double beats = 0;  ///< how long it is
  int key = 0;       ///< MIDI key
};

/// A note is a letter, '#' or 'b' if need be, an octave (C4 is middle C) and "*beats" when it is not one
/// beat;
/// '_' is a rest. Throws std::invalid_argument when a bar does not have `beats_a_bar`.
[[nodiscard]] std::vector<Written> read_bars(std::string_view text, double beats_a_bar);

}  // namespace samples
