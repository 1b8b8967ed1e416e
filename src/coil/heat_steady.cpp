// The steady state of an endless train of equal bursts, and whether there is one.
#include <cmath>

#include "burstloom/coil/heat.hpp"

namespace burstloom {
namespace {

constexpr double kInEuler = 0.36787944117144233;  // 1 / e

// The smaller root of y = z exp(y), 0 <= z < 1/e (Lambert's W, principal branch, of -z, negated). Newton from
// 0 rises to it; close to 1/e the two roots meet and it slows down to halving its distance, hence the many
// steps.
double smaller_root(double z) {
  double y = 0;
  for (int i = 0; i < 200; ++i) {
    const double grown = z * std::exp(y);
    const double step = (grown - y) / (1 - grown);
    if (!(step > 1e-16)) break;
    y += step;
  }
  return y;
}

}  // namespace

// With the resistance of the bursts' ends: T = A + B exp(k (T - 25)), where A and B are the repeated-pulse
// rises by fixed and by resistive heat. With y = k (T - A) that is y = z exp(y), z = k B exp(k (A - 25)): a
// root exists for z <= 1/e, and y is the gain of the feedback.
SteadyHeat steady_heat(const ThermalNetwork& network, const PulsePower& power, double on_s, double period_s) {
  const auto own = network.repeated_pulse(on_s, period_s, 1, 0);
  const auto mean = network.repeated_pulse(on_s, period_s, 0, 1);
  const double fixed = network.ambient_c() + own.peak * power.fixed_w + mean.peak * power.mean_fixed_w;
  const double by_factor = own.peak * power.resistive_w + mean.peak * power.mean_resistive_w;
  const double k = network.log_factor_per_k();
  const double z = k * by_factor * std::exp(k * (fixed - 25));
  SteadyHeat steady;
  if (!(z < kInEuler)) {
    steady.runs_away = true;
    return steady;
  }
  const double y = smaller_root(z);
  steady.feedback_gain = y;
  const double factor = std::exp(k * (fixed - 25) + y);
  steady.junction_c = fixed + by_factor * factor;
  steady.runs_away = !(steady.junction_c < kRunawayC);
  steady.loss_w = (power.fixed_w + power.resistive_w * factor) * on_s / period_s;
  const double on_sink_w = (power.mean_fixed_w + power.mean_resistive_w * factor) * on_s / period_s;
  steady.sink_c = network.ambient_c() + network.sink_resistance_k_per_w() * on_sink_w;
  return steady;
}

}  // namespace burstloom
