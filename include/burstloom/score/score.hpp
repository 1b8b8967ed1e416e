// Notes in seconds: what a MIDI file says, what listening hears, what weaving plays.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

namespace burstloom {

/// A value that changes in steps: `value` holds from `at_s` until the next point's.
struct Step {
  double at_s = 0;
  double value = 0;
  friend bool operator==(const Step&, const Step&) = default;
};
/// In order of time; before the first point, and where there is none, the default that the user of it states.
using StepCurve = std::vector<Step>;

/// The value at `at_s`, or `before` ahead of the first point. Logarithmic in the number of points.
[[nodiscard]] double value_at(const StepCurve& curve, double at_s, double before);

/// What a channel's controllers do to all its notes, all along the song.
struct ChannelCurves {
  StepCurve bend;  ///< semitones added to every key: pitch bend times its range (RPN 0), tuning (RPN 1 and 2)
  StepCurve gain;  ///< 0 to 1, default 1: volume and expression (CC 7, CC 11) as a factor on the velocity
  StepCurve vibrato;  ///< depth in semitones, default 0: CC 1 and channel pressure
  int program = -1;   ///< first General MIDI program, 0 to 127; -1: the file names none
};

/// How a note's loudness goes on after its onset.
enum class Envelope : std::uint8_t {
  held,    ///< as loud as it began until it ends
  plucked  ///< dies away, as a string that was struck or plucked
};

/// Which line of the music a note belongs to, where somebody said so.
enum class Part : std::uint8_t { any, lead, bass, inner, drums };

/// One note. `key` is a MIDI note number; fractions are allowed (quarter tones, a heard pitch).
struct Note {
  double start_s = 0;
  double end_s = 0;
  double key = 69;
  double velocity = 1.0;  ///< 0 to 1: MIDI velocity / 127
  int channel = 0;        ///< 0 to 15
  int track = 0;
  Envelope envelope = Envelope::held;
  Part part = Part::any;  ///< drums: `key` is a sound of the General MIDI percussion map, and no pitch
  friend bool operator==(const Note&, const Note&) = default;
};

/// All notes of a song, in order of start, then key.
struct Score {
  std::string title;
  double length_s = 0;  ///< end of the song: the last end-of-track, and never before the last note's end
  std::vector<Note> notes;
  std::array<ChannelCurves, 16> channels;  ///< controllers, by channel
  std::vector<std::string> remarks;        ///< what was odd in the file but could be read
};

/// Hertz of a key: 440 * 2^((key - 69) / 12), A = 440 Hz as in ISO 16.
[[nodiscard]] double key_hz(double key);

}  // namespace burstloom
