// A score as plain tones: what the notes are, to hear beside what a coil makes of them.
#pragma once

#include "burstloom/listen/sound.hpp"
#include "burstloom/score/score.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Each note as six harmonics that fall with their number, as far as half the rate reaches, loud as the
/// square of its velocity (the 40 log10 law of GM2), with 5 ms to come and 30 ms to go. No instrument, no
/// controllers, no drums. Peaks at 0.9 at most. `rate_hz` 8 000 to 48 000. Throws Error (usage) for another
/// rate or a score longer than six hours.
[[nodiscard]] Sound plain_tones(const Score& score, int rate_hz = 44'100);

/// A stream as tones that an ear for instruments can hear, at 22 050 Hz: each burst a step as high as it is
/// long that dies away in a millisecond, so that harmonics fall with their number. For reading notes back,
/// not for listening; the sound sketch is for that.
[[nodiscard]] Sound burst_tones(const BurstStream& stream);

}  // namespace burstloom
