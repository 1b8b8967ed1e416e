// What the music asks for, before the coil's limits have had their say.
#pragma once

#include <cstdint>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// One burst that a voice wants.
struct WantedBurst {
  Tick start = 0;             ///< any value; what lies before 0 or past kEndOfTime cannot be kept
  Tick on = 0;                ///< any value; the guard brings it into the coil's range or drops the burst
  Tick cap = 0;               ///< how far it may be moved, either way, before it is better dropped; >= 0
  std::uint32_t weight = 1;   ///< importance, 1 to kHeaviest: the lighter goes first, the heavier moves less
  std::uint32_t note = 0;     ///< index of the note (or stretch of sound) that wants it
  std::uint16_t voice = 0;    ///< which of the few that sound at once
  friend bool operator==(const WantedBurst&, const WantedBurst&) = default;
};

inline constexpr std::uint32_t kHeaviest = 1u << 16;

/// The burst that a voice wants next, as things stand, and how far its bursts are apart (ticks).
struct VoiceRequest {
  WantedBurst next;
  double period = 1;
};

}  // namespace burstloom
