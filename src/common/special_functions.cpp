#include "burstloom/common/special_functions.hpp"

#include <cmath>
#include <numbers>

namespace burstloom {
namespace {

// By the arithmetic-geometric mean (Abramowitz and Stegun, 17.6): K, and what E is less than K, as a part of
// it.
struct Elliptic {
  double first = 0, less = 0;
};
Elliptic elliptic(double k) {
  double a = 1, b = std::sqrt((1 - k) * (1 + k)), less = k * k / 2;
  for (double weight = 1; a - b > 1e-8 * a; weight *= 2) {  // the next difference is about its square
    const double c = (a - b) / 2, mean = (a + b) / 2;
    b = std::sqrt(a * b);
    a = mean;
    less += weight * c * c;
  }
  return {std::numbers::pi / (a + b), less};
}

}  // namespace

// The power series (Abramowitz and Stegun, 9.6.12): all of its terms are positive.
double bessel_i0(double x) {
  const double quarter = x * x / 4;
  double sum = 1, term = 1;
  for (double n = 1; term > 1e-17 * sum; ++n) sum += term *= quarter / (n * n);
  return sum;
}

double elliptic_k(double k) {
  return elliptic(k).first;
}

double elliptic_e(double k) {
  const Elliptic both = elliptic(k);
  return both.first * (1 - both.less);
}

}  // namespace burstloom
