// Ways of listening: sound in, what a spark could play of it out. Each way is one function with one name; a
// new way is one more line in `ways_of_listening`.
#pragma once

#include <string>
#include <variant>
#include <vector>

#include "burstloom/listen/sound_source.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom {

/// A moment at which a burst is wanted.
struct Moment {
  double at_s = 0;
  double strength = 1.0;  ///< 0 to 1, as a note's velocity: root of the level's share of the song's loudest
  double period_s = 0;    ///< since the moment before, at most 1/60 s; says how far the burst may be moved
};

/// The pitch over time of one voice: what sounds from `at_s` until the next entry.
struct PitchPoint {
  double at_s = 0;
  double hz = 0;        ///< 0: unvoiced
  double strength = 0;  ///< 0 to 1
};

struct Moments {
  std::vector<Moment> moments;
};
struct PitchTrack {
  std::vector<PitchPoint> points;
};
/// What a way of listening hears: moments, one voice's pitch, or notes (a score like any other).
using Heard = std::variant<Moments, PitchTrack, Score>;

struct WayOfListening {
  const char* name;     ///< as in `--how NAME`
  const char* summary;  ///< one line for --help
  Heard (*listen)(const SoundSource& sound);
  bool has_gates = false;  ///< at fixed levels: a soft recording is `Raised` first
};

/// All ways, the default first.
[[nodiscard]] const std::vector<WayOfListening>& ways_of_listening();

/// Notes of several voices, E1 to D7: spectra factorised on harmonic templates (Vincent, Bertin and Badeau
/// 2010), each pitch's weight followed over time, beginnings by the steepest rise in a shorter window,
/// pitches by phase. Notes say their part (lead, inner, bass), each on a channel of its own; bright and dull
/// hits of drums are percussion on channel 10. docs/reference/listening.md has how well it hears.
[[nodiscard]] Heard listen_notes(const SoundSource& sound);
/// Each rising crossing of a threshold with hysteresis fires: the trade's simplest way, kept as the baseline.
[[nodiscard]] Heard listen_edges(const SoundSource& sound);
/// One voice, the strongest pitch from 50 Hz to 2.2 kHz: YIN (de Cheveigne and Kawahara, JASA 111(4), 2002)
/// with a voicing decision. A point every 5 ms while it sounds, one at the start of each silence, the last
/// one unvoiced at the sound's end. A tone above the range is heard in a lower octave, or not at all. Both
/// ways throw Error (bad_input) for a sound whose rate is not 1 kHz to 10 MHz.
[[nodiscard]] Heard listen_follow(const SoundSource& sound);

/// The same of sounds in memory.
[[nodiscard]] inline Heard listen_notes(const Sound& sound) {
  return listen_notes(HeldSound(sound));
}
[[nodiscard]] inline Heard listen_edges(const Sound& sound) {
  return listen_edges(HeldSound(sound));
}
[[nodiscard]] inline Heard listen_follow(const Sound& sound) {
  return listen_follow(HeldSound(sound));
}

}  // namespace burstloom
