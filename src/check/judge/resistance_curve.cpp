#include "resistance_curve.hpp"

#include <cmath>

namespace burstloom::judge_detail {

ResistanceCurve::ResistanceCurve(double rate) : rate_(rate) {
  for (std::size_t i = 0; i < at_step_.size(); ++i)
    at_step_[i] = std::exp(rate * (kLowest_c + static_cast<double>(i) / kSteps_per_k - 25));
}

// The hotter, the more resistance, the hotter: Newton's steps to where both agree; past where a junction is
// lost the curve is flat.
double ResistanceCurve::settled_in_steps(double fixed_c, double resistive_k, double before) const {
  double factor = before;
  for (int round = 0; round < 50; ++round) {
    const double hot_c = fixed_c + resistive_k * factor, there = at(hot_c), off = there - factor;
    if (std::abs(off) < 1e-9 * factor) break;
    factor += off / (1 - (hot_c < kLost_c ? std::min(0.5, rate_ * resistive_k * there) : 0));
  }
  return factor;
}

}  // namespace burstloom::judge_detail
