// The two functions that band-limited filters are made of.
#pragma once

#include <cmath>
#include <numbers>

#include "burstloom/common/special_functions.hpp"

namespace burstloom {

/// sin(pi x) / (pi x).
[[nodiscard]] inline double sinc(double x) {
  const double angle = std::numbers::pi * x;
  return std::abs(angle) < 1e-9 ? 1.0 : std::sin(angle) / angle;
}

/// Kaiser's window at x of its half width, -1 to 1; 0 outside.
[[nodiscard]] inline double kaiser(double x, double beta) {
  if (std::abs(x) >= 1.0) return 0.0;
  return bessel_i0(beta * std::sqrt(1.0 - x * x)) / bessel_i0(beta);
}

}  // namespace burstloom
