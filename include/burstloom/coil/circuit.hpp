// The circuit behind a profile: two coupled tanks and the bridge that drives them, in SI units.
//
//   L1 i1' + M i2' = v - R1 i1 - vc1      M i1' + L2 i2' = -R2 i2 - vc2
//   C1 vc1' = i1                          C2 vc2' = i2 - vc2 G
//
// An untuned primary has no vc1. In a current-fed stage C1 lies across the winding (the whole of it) and a
// choke feeds its centre tap: Lf if' = v - vc1/2, C1 vc1' = if/2 - i1, and i1 is the winding's current.
#pragma once

#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// What the current model needs. It holds no voltage: all that it computes scales with the drive.
struct Circuit {
  PrimaryKind kind = PrimaryKind::series_resonant;
  RingDown ring_down = RingDown::diode_return;
  bool stops_at_zero = false;
  double delay_s = 0;      ///< from the watched zero crossing to the bridge's edge
  double primary_h = 0;    ///< L1
  double primary_f = 0;    ///< C1; not used by an untuned primary
  double primary_ohm = 0;  ///< R1, conducting switches included (in a current-fed stage without them)
  double coupling = 0;     ///< k = M / sqrt(L1 L2); 0: the primary is computed alone
  double secondary_h = 0, secondary_f = 0, secondary_ohm = 0;
  double load_s = 0;    ///< G, the streamers' conductance across the top; 0 without them
  double feed_h = 0;    ///< Lf, current-fed only
  double feed_ohm = 0;  ///< the conducting switch in series with it
};

/// A circuit, or in words which values the profile lacks. `remark` says what was assumed, if anything.
struct CircuitAnswer {
  bool known = false;
  Circuit circuit;
  std::string why_not, remark;
};

/// The circuit of a profile with its streamers or without them. Switches count with their resistance at 25 C:
/// cold switches let more current through than warm ones. A profile without any secondary is computed as the
/// primary alone, which a secondary would only damp; a secondary given in part is refused, as is a spread of
/// time constants too wide to compute.
[[nodiscard]] CircuitAnswer circuit_of(const Profile& profile, bool loaded);

/// What the bridge puts across the primary at `bus_v`: the bus, or half of it for a half bridge. Volts.
[[nodiscard]] double bridge_v(Bridge bridge, double bus_v);

/// One way in which the circuit rings by itself, the drive being a short circuit.
struct Mode {
  double frequency_hz = 0;  ///< damped
  double decay_s = 0;       ///< time constant of its amplitude
};

/// The oscillating modes in rising order of frequency: one or two (three with a choke).
[[nodiscard]] std::vector<Mode> modes_of(const Circuit& circuit);

}  // namespace burstloom
