#include "edge_kernel.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "burstloom/common/special_functions.hpp"

namespace burstloom::preview_detail {
namespace {

constexpr std::size_t kPhases = 64;
constexpr double kStep = 1.0 / kPhases;
constexpr double kBeta = 10.06;
constexpr double kForgotten = 1e-8;  // where a decay ends

std::size_t tail_samples(double decay_rate) {
  if (decay_rate <= 0) return 0;
  return static_cast<std::size_t>(std::ceil(-std::log(kForgotten) / decay_rate));
}

// The low-pass on the table's grid, at half its steps for Simpson's rule, with the sum that makes its gain 1.
std::vector<double> low_pass_by_half_steps() {
  constexpr std::size_t kCount = std::size_t{4} * kHalfWidth * kPhases + 1;
  std::vector<double> h(kCount);
  for (std::size_t i = 0; i < kCount; ++i) h[i] = low_pass(-kHalfWidth + static_cast<double>(i) * kStep / 2);
  return h;
}

}  // namespace

double low_pass(double x) {
  const double part = x / kHalfWidth;
  if (std::abs(part) >= 1.0) return 0.0;
  const double angle = 2 * std::numbers::pi * kCutoff * x;
  const double sinc = std::abs(angle) < 1e-9 ? 1.0 : std::sin(angle) / angle;
  static const double edge = bessel_i0(kBeta);
  return 2 * kCutoff * sinc * bessel_i0(kBeta * std::sqrt(1.0 - part * part)) / edge;
}

EdgeKernel::EdgeKernel(double decay_rate)
    : taps_(2 * static_cast<std::size_t>(kHalfWidth) + 1 + tail_samples(decay_rate)),
      rest_(decay_rate > 0 ? 0.0 : 1.0),
      rows_(kPhases + 1, {std::vector<double>(taps_ + 1), std::vector<double>(taps_ + 1)}) {
  fill(decay_rate);
}

// Runs along the response once, G(x + d) = exp(-d / tau) G(x) + the integral of exp(-s / tau) h(x + d - s)
// over s from 0 to d (Simpson's rule), and deals it out to the rows.
void EdgeKernel::fill(double decay_rate) {
  static const std::vector<double> h = low_pass_by_half_steps();
  const auto at = [](std::size_t half_step) { return half_step < h.size() ? h[half_step] : 0.0; };
  const double half = std::exp(-decay_rate * kStep / 2), whole = half * half;
  double response = 0;
  for (std::size_t i = 0; i <= (taps_ + 1) * kPhases; ++i) {
    const std::size_t row = i % kPhases, tap = i / kPhases;
    const double slope = kStep * (at(2 * i) - decay_rate * response);
    if (tap <= taps_) rows_[row].value[tap] = response, rows_[row].slope[tap] = slope;
    if (row == 0 && tap > 0) rows_[kPhases].value[tap - 1] = response, rows_[kPhases].slope[tap - 1] = slope;
    response = whole * response + kStep / 6 * (whole * at(2 * i) + 4 * half * at(2 * i + 1) + at(2 * i + 2));
  }
}

void EdgeKernel::add(double weight, double lead, std::span<double> out) const {
  const double place = std::clamp(lead, 0.0, 1.0) * kPhases;
  const auto row = std::min(static_cast<std::size_t>(place), kPhases - 1);
  const double u = place - static_cast<double>(row), v = 1 - u;
  const double value_0 = weight * (1 + 2 * u) * v * v, slope_0 = weight * u * v * v;
  const double value_1 = weight * u * u * (3 - 2 * u), slope_1 = -weight * u * u * v;
  const Row &a = rows_[row], &b = rows_[row + 1];
  for (std::size_t i = 0; i < taps_; ++i)
    out[i] += value_0 * a.value[i] + slope_0 * a.slope[i] + value_1 * b.value[i] + slope_1 * b.slope[i];
}

}  // namespace burstloom::preview_detail
