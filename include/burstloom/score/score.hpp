// Notes in seconds: what a MIDI file says, what listening hears, what weaving plays.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace burstloom {

/// One note. `key` is a MIDI note number; fractions are allowed (quarter tones, a heard pitch).
struct Note {
  double start_s = 0;
  double end_s = 0;
  double key = 69;
  double velocity = 1.0;  ///< 0 to 1: MIDI velocity / 127
  int channel = 0;        ///< 0 to 15
  int track = 0;
  friend bool operator==(const Note&, const Note&) = default;
};

/// All notes of a song, in order of start, then key.
struct Score {
  std::string title;
  double length_s = 0;  ///< end of the song: the last end-of-track, and never before the last note's end
  std::vector<Note> notes;
  std::int64_t percussion_ignored = 0;  ///< notes of the percussion channel, not played for now
  std::vector<std::string> remarks;     ///< what was odd in the file but could be read
};

/// Hertz of a key: 440 * 2^((key - 69) / 12), A = 440 Hz as in ISO 16.
[[nodiscard]] double key_hz(double key);

}  // namespace burstloom
