// What follows from a profile before any music: resonances, how long a burst may be, what stays cool, what
// detuning does.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// One tank by itself, in closed form: f = 1 / (2 pi sqrt(L C)), Z0 = sqrt(L / C), Q = Z0 / R, ring-up 2 L /
/// R.
struct Tank {
  double resonance_hz = 0, impedance_ohm = 0, quality = 0, ring_up_s = 0;
};

/// A single burst from rest at the highest bus, simulated.
struct BurstOutlook {
  double on_time_us = 0;
  bool loaded = false;
  double peak_current_a = 0, energy_j = 0, i2t_a2s = 0;  ///< energy net of what the ring-down gives back
};

/// The longest on-time at which a note of this rate may sound for ever.
struct SteadyNote {
  double rate_hz = 0, on_time_us = 0, duty_percent = 0;
  std::string bound_by;  ///< the limit: "on-time max", "junction", "duty 1000 ms" ...
};

/// How the peak of the longest burst moves when a value is off. Percent of the peak, for the worse of loaded
/// and unloaded.
struct Sensitivity {
  std::string value;  ///< "secondary inductance or capacitance, 5 % more"
  double change_percent = 0;
};

struct Outlook {
  std::string why_no_model;
  std::optional<Tank> primary;  ///< tuned primaries
  std::optional<double> secondary_hz;
  std::vector<Mode> modes, modes_loaded;
  double ring_down_s = 0;  ///< after this nothing of a burst adds more than 1 % to the next
  double residual_a = 0;   ///< what it may add after the profile's shortest gap
  std::vector<SteadyNote> steady;
  std::vector<Sensitivity> sensitivities;
  std::optional<double>
      detuned_peak_a;  ///< worst peak of the longest burst within 5 % detuning of the secondary
  std::vector<std::string> warnings;
};

[[nodiscard]] Outlook outlook(const Profile& profile);

/// The longest steady notes at these rates (Hz, above 0); those past the profile's break rate are left out.
[[nodiscard]] std::vector<SteadyNote> steady_notes(const Profile& profile,
                                                   const std::vector<double>& rates_hz);

/// Each on-time loaded and unloaded. Throws Error (bad_input) without a model or for on-times not above 0 or
/// over 1 s.
[[nodiscard]] std::vector<BurstOutlook> burst_outlook(const Profile& profile,
                                                      const std::vector<double>& on_times_us);

/// The worst peak (A) of a burst of `on_time_us` at the highest bus while the secondary's resonance is off by
/// up to 5 %: a strike to earth or a hand near the coil. Nothing without a model or a secondary.
[[nodiscard]] std::optional<double> detuned_peak_a(const Profile& profile, double on_time_us);

}  // namespace burstloom
