// Weaving: notes or heard sound into wanted bursts. The limits come after, in the guard.
//
// Pitch: a note's break rate is that of its key, its channel's bend added, and vibrato on top (a sine of
// kVibratoHz from the note's onset). Each period's length is the rate in its middle; the train never jumps. A
// bend past the highest break rate stays at it.
//
// Loudness: level = velocity * gain curve; a burst's energy follows level^4 (40 log10 law of GM2: amplitude
// goes with the square of the level, energy with the square of the amplitude), times exp(-2 t / tau) for
// plucked notes. The on-time follows from the coil's energy table, between the shortest and the longest that
// a stream may command.
//   power of a note   p = level^4 * envelope * min(1, rate / 220 Hz), as a part of the most that one voice
//   may have:
//     above 220 Hz a burst's energy falls with the rate, so that power stays; below, the bass gets no more a
//     burst
//   in a chord        p' = min(p, loudest p * w p / (sum of w p)), w = 4 lead, 2 bass, 1 inner:
//     together no more than the loudest would have alone, and most of it for the lead
// A note is silent while its gain and envelope are 24 dB down or more and it asks for less than the shortest
// burst; a plucked note ends there. Common practice, no published source, as are 220 Hz, the shares and tau.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/score/score.hpp"
#include "burstloom/stream/wanted.hpp"
#include "burstloom/weave/ceiling.hpp"
#include "burstloom/weave/note_fate.hpp"

namespace burstloom {

struct Moments;  // what is heard in a recording: listen/listen.hpp
struct PitchTrack;

/// What happened to whole notes, before any burst was wanted.
struct NoteCounts {
  std::int64_t read = 0;     ///< in the file
  std::int64_t played = 0;   ///< sound, at least in part
  std::int64_t skipped = 0;  ///< cannot be played: no length, no velocity, unknown percussion
  std::int64_t folded = 0;   ///< played in another octave
  std::int64_t stolen = 0;   ///< gave way to others, whole or in part, for want of voices
};

struct Wanted {
  std::vector<WantedBurst> bursts;  ///< in order of start
  Tick length = 0;                  ///< of the song
  NoteCounts notes;
  std::vector<NoteFate> fates;  ///< of a score's notes: every one of them, in order of note, then time
};

struct WeaveOptions {
  std::int64_t tick_hz = kDefaultTickHz;
  int voices = 3;  ///< how many notes may sound at once, 1 to 16; percussion has one more of its own
  double cap_of_period = 0.1;  ///< how far a burst may be moved, as a part of its voice's period, 0 to 0.5
  bool choose_phase = true;    ///< start each train where it collides least, at most kLatestOnset_s late
  double longest_s = kLongestSong_s;  ///< ceiling.hpp
};

/// Vibrato's rate (common practice: 5 to 6 Hz; no published source).
inline constexpr double kVibratoHz = 5.5;
/// Notes that ask for a lower break rate are folded up: below it one hears single bursts and no pitch.
inline constexpr double kFloorHz = 30.0;
/// A phrase ends where its track's channel is silent for as long as this.
inline constexpr double kPhraseGap_s = 0.5;
/// No train begins later after its note's onset, nor later than one period.
inline constexpr double kLatestOnset_s = 0.005;
/// A note of which less than this is left when another takes its voice is not begun.
inline constexpr double kShortestSound_s = 0.03;

/// How fast a plucked note's amplitude dies away (s, to 1/e): 1.2 s at A4, half of it two octaves up, twice
/// two octaves down, 0.2 to 4 s. Common practice, no published source.
[[nodiscard]] double plucked_decay_s(double key);

/// Notes into wanted bursts: octaves chosen (whole phrases), voices shared out, the on-times of the formula
/// above, each burst at its train's moment (fixed point with 32 fractional bits), percussion as short
/// gestures of its own (drums.hpp, docs/reference/weaving.md).
[[nodiscard]] Wanted wanted_from_score(const Score& score, const Profile& profile,
                                       const WeaveOptions& options);
[[nodiscard]] Wanted wanted_from_moments(const Moments& moments, double length_s, const Profile& profile,
                                         const WeaveOptions& options);
[[nodiscard]] Wanted wanted_from_track(const PitchTrack& track, double length_s, const Profile& profile,
                                       const WeaveOptions& options);

/// The on-time (ticks) that a note of `velocity` (0 to 1) alone at break rate `hz` asks for, by the formula
/// above. Where the coil has no model the energy is taken as the cube of the on-time (a primary current that
/// still rises in a straight line). Never longer than half a period: of a pulse train with duty D the
/// fundamental, 2 sin(pi D) / pi, is strongest at a D of one half and falls beyond it.
[[nodiscard]] Tick on_time_for(double velocity, double hz, const Profile& profile, std::int64_t tick_hz);

}  // namespace burstloom
