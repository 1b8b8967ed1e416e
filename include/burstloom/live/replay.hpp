// What is known ahead, played as if it came in live.
#pragma once

#include <span>

#include "burstloom/live/recording.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom {

/// The engine hears each message at its moment (in order), and plays until `length_s`. A recording's own MIDI
/// file gives its stream again, burst by burst, where nothing was made too late and soft start was not in
/// use. Throws what LiveEngine throws, and Error (bad_input) where it makes more bursts than a song may have.
[[nodiscard]] LiveRecording played_live(std::span<const TimedMessage> messages, double length_s,
                                        const Profile& profile, const LiveOptions& options);

}  // namespace burstloom
