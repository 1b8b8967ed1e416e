// Weaving: notes or heard sound into wanted bursts. The limits come after, in the guard.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/score/score.hpp"
#include "burstloom/stream/wanted.hpp"

namespace burstloom {

/// What happened to whole notes, before any burst was wanted.
struct NoteCounts {
  std::int64_t read = 0;     ///< in the file
  std::int64_t played = 0;   ///< sound, at least in part
  std::int64_t skipped = 0;  ///< cannot be played: percussion, no length, pitch out of reach
  std::int64_t folded = 0;   ///< played in another octave
  std::int64_t stolen = 0;   ///< gave way to others, whole or in part, for want of voices
};

struct Wanted {
  std::vector<WantedBurst> bursts;  ///< in order of start
  Tick length = 0;                  ///< of the song
  NoteCounts notes;
};

struct WeaveOptions {
  std::int64_t tick_hz = kDefaultTickHz;
  int voices = 3;               ///< how many notes may sound at once, 1 to 16
  double cap_of_period = 0.1;   ///< how far a burst may be moved, as a part of its voice's period
};

/// Notes into wanted bursts: voices shared out, on-times from velocity and break rate, each burst at the note's
/// onset plus a whole number of periods (fixed point with 32 fractional bits).
[[nodiscard]] Wanted wanted_from_score(const Score& score, const Profile& profile, const WeaveOptions& options);
[[nodiscard]] Wanted wanted_from_moments(const Moments& moments, double length_s, const Profile& profile,
                                         const WeaveOptions& options);
[[nodiscard]] Wanted wanted_from_track(const PitchTrack& track, double length_s, const Profile& profile,
                                       const WeaveOptions& options);

/// The on-time (ticks) that a note of `velocity` (0 to 1) at break rate `hz` asks for, between the shortest and
/// the longest that the profile lets a stream command. A burst's energy follows the square of the gain (velocity
/// squared: the 40 log10 law of GM2), and while the primary current is still rising the energy goes with about
/// the cube of the on-time: the share of the range is velocity^(4/3). Above 220 Hz it falls with the cube root of
/// the rate, so that a note's power stays about the same. Common practice, no published source. Never longer than
/// half a period: of a pulse train with duty D the fundamental, 2 sin(pi D) / pi, is strongest at a D of one
/// half and falls beyond it.
[[nodiscard]] Tick on_time_for(double velocity, double hz, const Profile& profile, std::int64_t tick_hz);

}  // namespace burstloom
