// How a MOSFET's resistance rises with its junction, and where the two settle: the judge's own sums. The
// short ways stand here to be compiled into the loop over bursts.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>

namespace burstloom::judge_detail {

inline constexpr double kLowest_c = -100, kLost_c = 300;  ///< past this a junction is lost

/// e^(rate (c - 25)) of the resistance at 25 C.
class ResistanceCurve {
 public:
  /// `rate`: a K, not negative.
  explicit ResistanceCurve(double rate);
  /// At a junction (C) from `kLowest_c` to `kLost_c`, and past that as there.
  [[nodiscard]] double at(double junction_c) const;
  /// The factor on which junction and resistance agree: `at(fixed_c + resistive_k * factor)`; found from
  /// `before`, where that takes steps.
  [[nodiscard]] double settled(double fixed_c, double resistive_k, double before) const;

 private:
  [[nodiscard]] double settled_in_steps(double fixed_c, double resistive_k, double before) const;

  static constexpr double kSteps_per_k = 8;
  double rate_;
  std::array<double, 3201> at_step_{};  // from `kLowest_c` to `kLost_c`
};

// From the nearest step by the series of e^x: for a resistance that doubles by 150 C, x is under 0.0004 and
// what the series leaves out under 1e-14.
inline double ResistanceCurve::at(double junction_c) const {
  const double above_k = std::clamp(junction_c, kLowest_c, kLost_c) - kLowest_c;
  const auto step =
      static_cast<int>(above_k * kSteps_per_k + 0.5);  // NOLINT(*incorrect-roundings): never negative
  const double x = rate_ * (above_k - step / kSteps_per_k);
  return at_step_[static_cast<std::size_t>(step)] * ((1 + x) + x * x * (1.0 / 2 + x * (1.0 / 6)));
}

// factor = e^(rate (fixed_c - 25)) e^(rate resistive_k factor) has the solution at(fixed_c) T(z), with T =
// e^(zT) and z = rate resistive_k at(fixed_c): the tree function, whose series is the sum of (n + 1)^(n - 1)
// / n! z^n (Corless and others, "On the Lambert W function", 1996). Single bursts heat little: z is small,
// and what the series leaves out is under 1e-11.
inline double ResistanceCurve::settled(double fixed_c, double resistive_k, double before) const {
  constexpr double kSmall = 1.0 / 128;
  const double cool = at(fixed_c), z = rate_ * resistive_k * cool, z2 = z * z;
  const double factor =
      cool * ((1 + z) + z2 * ((3.0 / 2 + z * (8.0 / 3)) + z2 * (125.0 / 24 + z * (54.0 / 5))));
  const bool is_inside = fixed_c >= kLowest_c && fixed_c + resistive_k * factor <= kLost_c;
  return z < kSmall && is_inside ? factor : settled_in_steps(fixed_c, resistive_k, before);
}

}  // namespace burstloom::judge_detail
