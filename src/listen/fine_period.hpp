// The exact period about a moment, once it is known roughly.
#pragma once

#include <cstddef>
#include <vector>

#include "thinned.hpp"

namespace burstloom {

/// A frame's pitch as the fine look has it; no pitch: period 0.
struct FinePitch {
  float period_s = 0;
  float mismatch = 1;  ///< 0: repeats exactly; about 1: noise
  float level = 0;     ///< root of the mean square in the fine window
};

/// YIN's step 5 once more, in a window that suits the pitch: three periods long (12 to 40 ms), and centred so
/// that the two halves that are compared lie on both sides of the moment; else a slide is read early or late
/// by half a period. The difference is divided by the energy of both halves, which keeps a dying sound from
/// bending the result, and is interpolated band-limited before the parabola is laid.
class FinePeriod {
 public:
  explicit FinePeriod(Thinned& sound);

  /// The pitch near `rough_s`; its period is `rough_s` itself where no dip is near.
  [[nodiscard]] FinePitch operator()(double centre_s, double rough_s);

 private:
  void compare(double centre, std::ptrdiff_t first_lag, std::size_t window);
  [[nodiscard]] std::ptrdiff_t lowest_lag() const;
  [[nodiscard]] double at(double offset) const;
  [[nodiscard]] float level() const;
  [[nodiscard]] double deepest_near(double offset) const;

  Thinned& sound_;
  std::vector<float> weighted_, weights_;
  std::vector<double> mismatch_;  // one a lag
  float own_energy_ = 0, other_energy_ = 0;
  std::vector<std::vector<float>> kernels_;
};

}  // namespace burstloom
