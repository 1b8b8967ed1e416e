// The cubic through two values and two slopes (Hermite), on which zeros and extremes are found inside a step.
#pragma once

#include <algorithm>
#include <cmath>

namespace burstloom::current {

struct Cubic {
  double step, from, to, slope_from, slope_to;

  [[nodiscard]] double at(double x) const {  // x from 0 to 1
    const double a = slope_from * step - (to - from), b = -slope_to * step + (to - from);
    return (1 - x) * from + x * to + x * (1 - x) * ((1 - x) * a + x * b);
  }

  /// Where it passes zero, as a share of the step, when `from` and `to` differ in sign; 0 when it starts past
  /// it.
  [[nodiscard]] double zero() const {
    if (from == 0 || (from > 0) == (to > 0)) return 0;
    double low = 0, high = 1, value_low = from, value_high = to;
    double x = from / (from - to);
    for (int i = 0; i < 6; ++i) {  // regula falsi, halving the end that stays (the Illinois rule)
      const double value = at(x);
      if ((value > 0) == (value_low > 0)) {
        low = x;
        value_low = value;
        value_high /= 2;
      } else {
        high = x;
        value_high = value;
        value_low /= 2;
      }
      x = low + (high - low) * value_low / (value_low - value_high);
    }
    return x;
  }

  /// The largest size inside the step or at its end.
  [[nodiscard]] double largest() const {
    const double ends = std::max(std::abs(from), std::abs(to));
    if (slope_from * slope_to >= 0) return ends;
    const double x = slope_from / (slope_from - slope_to);
    return std::max(ends, std::abs(at(x)));
  }
};

}  // namespace burstloom::current
