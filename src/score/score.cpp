#include "burstloom/score/score.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom {

double key_hz(double key) {
  return 440.0 * std::exp2((key - 69.0) / 12.0);
}

double value_at(const StepCurve& curve, double at_s, double before) {
  const auto after = std::upper_bound(curve.begin(), curve.end(), at_s,
                                      [](double at, const Step& step) { return at < step.at_s; });
  return after == curve.begin() ? before : std::prev(after)->value;
}

}  // namespace burstloom
