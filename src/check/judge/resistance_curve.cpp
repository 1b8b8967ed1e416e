#include "resistance_curve.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::judge_detail {

double ResistanceCurve::at(double junction_c) const {
  return std::exp(rate_ * (std::clamp(junction_c, kLowest_c, kLost_c) - 25));
}

// The hotter, the more resistance, the hotter: Newton's steps to where both agree. The curve bends upwards,
// so that steps from below never pass the lowest such place; where there is none they end past `kLost_c`,
// where the curve is flat. What a step leaves is about half of (slope step)^2.
double ResistanceCurve::settled(double fixed_c, double resistive_k) const {
  double factor = at(fixed_c);
  for (int round = 0; round < 50; ++round) {
    const double hot_c = fixed_c + resistive_k * factor, there = at(hot_c);
    const double slope = hot_c < kLost_c ? std::min(0.99, rate_ * resistive_k * there) : 0;
    const double step = (there - factor) / (1 - slope);
    factor += step;
    if (slope * std::abs(step) < 1e-6 * factor) break;
  }
  return factor;
}

}  // namespace burstloom::judge_detail
