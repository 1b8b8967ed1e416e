// What placing cost each voice: bursts moved and gone, and what that does to its pitch.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/guard/guard.hpp"

namespace burstloom {

/// One voice's account. Moves are between wanted and played starts.
struct VoiceReport {
  std::uint16_t voice = 0;
  std::int64_t wanted = 0, moved = 0, dropped = 0;  ///< bursts
  double rms_move_us = 0;                           ///< of all that play, the unmoved ones included
  /// Root mean square of 1200 log2(wanted interval / played interval), over neighbours of one note that both
  /// play. Where percussion is noise this is no pitch.
  double jitter_cents = 0;
};

/// One report for each voice that wants anything, in order of voice.
[[nodiscard]] std::vector<VoiceReport> report_voices(const Guarded& guarded);

}  // namespace burstloom
