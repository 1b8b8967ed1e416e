// The tank's values from bench measurements: the model bent to the points, with how well each value is known.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// One single burst measured on the bench.
struct BenchPoint {
  double on_time_us = 0, peak_current_a = 0;
  bool loaded = true;  ///< with streamers
};

/// Reads `on_time_us,peak_current_a[,loaded]` with that heading; `loaded` is yes or no, yes if the column is
/// missing; lines that begin with # are left out. Throws Error (bad_input with line) for anything else, for
/// values not above 0, for no points and for more than 1000.
[[nodiscard]] std::vector<BenchPoint> read_bench_points(const std::string& path);

/// How the points were taken.
struct Bench {
  double bus_v = 0;  ///< 0: the profile's bus
  /// Time constant of the primary current's decay with the secondary out of the way and the bridge shorted: 2
  /// L / R.
  std::optional<double> decay_us;
};

/// A value of the profile, as the fit has it.
struct FittedValue {
  std::string key;  ///< "primary.inductance_uh"
  double before = 0, value = 0;
  double uncertain_percent = 0;  ///< two standard deviations, from the scatter of the points about the model
};

struct Fit {
  std::vector<FittedValue> values;
  double scatter_percent = 0;         ///< root mean square of the points about the fitted model
  double scatter_before_percent = 0;  ///< about the profile as it was
  Profile profile;                    ///< with the fitted values
};

/// Fits primary inductance, primary resistance, coupling and streamer load (those of them that `keys` names;
/// all that the profile gives, if empty) to the points and the decay, starting from the profile's values, by
/// least squares of the logarithms (Levenberg 1944, Marquardt 1963). Throws Error: bad_input for a profile
/// without a model, for fewer points than values and one more, and for sets that cannot tell the values
/// apart, which it names; usage for keys that cannot be fitted.
[[nodiscard]] Fit fit_tank(const Profile& profile, const std::vector<BenchPoint>& points,
                           const std::vector<std::string>& keys = {}, Bench bench = {});

}  // namespace burstloom
