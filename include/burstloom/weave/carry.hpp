// Carrying a sound itself: bursts at a high rate whose on-times, or whose density, follow the sound. What is
// left of the sound is what the limits leave; for coils that allow many short bursts.
//
// What follows the sound is the gate: low-passed, it is the sound. A spark adds a law of its own
// (docs/reference/sound-sketch.md): it radiates the rate of change of its heating power, so that highs come
// out stronger.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/listen/sound.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom {

/// What the limits leave to carry a sound with.
struct Carrier {
  double rate_hz = 0;                      ///< carrier: bursts a second; density: places for bursts a second
  double shortest_us = 0, longest_us = 0;  ///< on-times between which the sound swings
  double bandwidth_hz = 0;                 ///< the sound is kept up to here
};

struct Carried {
  Wanted wanted;
  Carrier carrier;
};

/// A way of carrying: a name for `--how`, what it is, and the function. `rate_hz` nothing: the highest that
/// the limits leave. Throws Error (outside_limits) where they leave none, naming what binds.
struct WayOfCarrying {
  const char* name;
  const char* summary;
  Carried (*carry)(const Sound&, const Profile&, const WeaveOptions&, std::optional<double> rate_hz);
};
[[nodiscard]] const std::vector<WayOfCarrying>& ways_of_carrying();

/// Bursts at a steady rate, each on-time following the sound: pulse-width modulation with both edges sampled
/// where they fall (natural sampling: no distortion in the sound's own band; Black, Modulation Theory, 1953,
/// ch. 17, from memory). The middle of the on-times follows the sound's level, so that quiet passages cost
/// little heat, and silence none. Each edge's rounding to ticks is carried on to the next, which moves its
/// noise up out of the sound (first-order noise shaping). Bandwidth: a quarter of the rate.
[[nodiscard]] Carried carry_by_on_time(const Sound& sound, const Profile& profile,
                                       const WeaveOptions& options, std::optional<double> rate_hz = {});

/// Bursts at whole multiples of the shortest spacing, as dense as the sound is high: a second-order
/// sigma-delta modulator (Candy, IEEE Trans. Commun. 33, 1985, from memory). The density swings fully at any
/// level; the on-time follows the level, which compands the sound into the range of on-times. Bandwidth: a
/// sixteenth of the places' rate.
[[nodiscard]] Carried carry_by_density(const Sound& sound, const Profile& profile,
                                       const WeaveOptions& options, std::optional<double> rate_hz = {});

}  // namespace burstloom
