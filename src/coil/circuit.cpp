// From a profile's keys to a circuit.
#include "burstloom/coil/circuit.hpp"

#include <cmath>
#include <numbers>

#include "current_system.hpp"

namespace burstloom {
namespace {

// Past these ratios a profile has a wrong unit somewhere, and steps short enough for its fastest part would
// not come to an end of its slowest.
constexpr double kWidestOscillations = 60, kFastestRateToOscillation = 200;

void add(std::string& list, bool missing, const char* key) {
  if (!missing) return;
  if (!list.empty()) list += ", ";
  list += key;
}

std::string missing_from_primary(const Profile& p) {
  std::string list;
  add(list, !p.drive.bus_v, "drive.bus_v");
  add(list, !p.primary.inductance_uh, "primary.inductance_uh");
  add(list, p.drive.primary != PrimaryKind::untuned && !p.primary.capacitance_nf, "primary.capacitance_nf");
  add(list, !p.primary.resistance_ohm, "primary.resistance_ohm");
  add(list, p.drive.primary == PrimaryKind::current_fed && !p.drive.feed_inductance_uh,
      "drive.feed_inductance_uh");
  return list;
}

std::string missing_from_secondary(const Secondary& s) {
  std::string list;
  add(list, !s.inductance_mh, "secondary.inductance_mh");
  add(list, !s.resonance_khz, "secondary.resonance_khz");
  add(list, !s.quality_factor, "secondary.quality_factor");
  add(list, !s.coupling, "secondary.coupling");
  return list;
}

bool has_some_secondary(const Secondary& s) {
  return s.inductance_mh || s.resonance_khz || s.quality_factor || s.coupling || s.streamer_load_kohm;
}

// One switch of the conducting path; two in series in a full bridge.
double switch_ohm(const Profile& p) {
  const double one_mohm = p.switches.rds_on_mohm.value_or(p.switches.vce_slope_mohm.value_or(0));
  return one_mohm / 1e3 / p.switches.parallel * (p.drive.bridge == Bridge::full ? 2 : 1);
}

void set_primary(const Profile& p, Circuit& c) {
  c.kind = p.drive.primary;
  c.ring_down = p.drive.ring_down;
  c.stops_at_zero = p.drive.stops_at_zero;
  c.delay_s = p.drive.commutation_delay_ns * 1e-9;
  c.primary_h = *p.primary.inductance_uh * 1e-6;
  c.primary_f = p.primary.capacitance_nf.value_or(0) * 1e-9;
  const bool fed = c.kind == PrimaryKind::current_fed;
  c.primary_ohm = *p.primary.resistance_ohm + (fed ? 0 : switch_ohm(p));
  if (!fed) return;
  c.feed_h = *p.drive.feed_inductance_uh * 1e-6;
  c.feed_ohm = switch_ohm(p);
}

void set_secondary(const Secondary& s, bool loaded, Circuit& c) {
  const double pace = 2 * std::numbers::pi * *s.resonance_khz * 1e3;
  c.coupling = *s.coupling;
  c.secondary_h = *s.inductance_mh * 1e-3;
  c.secondary_f = 1 / (pace * pace * c.secondary_h);
  c.secondary_ohm = pace * c.secondary_h / *s.quality_factor;
  c.load_s = loaded && s.streamer_load_kohm ? 1 / (*s.streamer_load_kohm * 1e3) : 0;
}

std::string too_wide(const Circuit& c) {
  const auto [fastest, slowest, rate] = current::spread_of(c);
  if (!(fastest > 0)) return "nothing in the circuit oscillates: check resistances and streamer load";
  if (c.kind != PrimaryKind::current_fed && fastest > kWidestOscillations * slowest)
    return "the tanks' frequencies are more than 60 times apart: check primary and secondary";
  if (rate > kFastestRateToOscillation * fastest)
    return "a time constant is over 200 times shorter than the fastest oscillation: check the streamer load "
           "and "
           "the resistances";
  return {};
}

}  // namespace

double bridge_v(Bridge bridge, double bus_v) {
  return bridge == Bridge::half ? bus_v / 2 : bus_v;
}

CircuitAnswer circuit_of(const Profile& profile, bool loaded) {
  CircuitAnswer answer;
  if (const std::string missing = missing_from_primary(profile); !missing.empty()) {
    answer.why_not = "missing: " + missing;
    return answer;
  }
  set_primary(profile, answer.circuit);
  if (const std::string missing = missing_from_secondary(profile.secondary); missing.empty()) {
    set_secondary(profile.secondary, loaded, answer.circuit);
  } else if (profile.drive.primary == PrimaryKind::untuned || has_some_secondary(profile.secondary)) {
    answer.why_not = "missing: " + missing;
    return answer;
  } else {
    answer.remark = "computed as the primary alone: the profile describes no secondary";
  }
  if (profile.drive.primary == PrimaryKind::untuned && !(answer.circuit.coupling > 0)) {
    answer.why_not = "secondary.coupling is 0: the driver of an untuned primary follows the secondary";
    return answer;
  }
  answer.why_not = too_wide(answer.circuit);
  answer.known = answer.why_not.empty();
  return answer;
}

}  // namespace burstloom
