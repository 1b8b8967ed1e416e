// The same network solved plainly: one case, one sink, a handful of pairs, by a matrix exponential. Shares no
// formula with the library.
#pragma once

#include <rapidcheck.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "burstloom/coil/thermal.hpp"

namespace burstloom::testing {

inline double between(double low, double high) {
  return low + (high - low) * *rc::gen::inRange(0, 1'000'001) / 1e6;
}

/// The judged switch's case, the mean case of all on the sink, and the sink, as a matrix; its exponential by
/// scaling and squaring of a Taylor series.
class ByHand {
 public:
  explicit ByHand(const ThermalParts& parts)
      : parts_(parts),
        foster_(parts.foster.size(), 0.0),
        case_(parts.case_start_c.value_or(parts.start_c)),
        mean_case_(case_),
        sink_(parts.start_c) {}

  void step(double seconds, double own_w, double mean_w) {
    for (std::size_t i = 0; i < foster_.size(); ++i) {
      const auto& [r, tau] = parts_.foster[i];
      foster_[i] = r * own_w + (foster_[i] - r * own_w) * std::exp(-seconds / tau);
    }
    step_cases(seconds, own_w, mean_w);
  }

  /// A burst in fine steps, the resistance taken at each one's start; the highest junction.
  double burst(double seconds, const PulsePower& power, double factor_at_150c, int parts = 400) {
    double peak = junction_c();
    for (int i = 0; i < parts; ++i) {
      const double factor = std::pow(factor_at_150c, (junction_c() - 25) / 125);
      step(seconds / parts, power.fixed_w + factor * power.resistive_w,
           power.mean_fixed_w + factor * power.mean_resistive_w);
      peak = std::max(peak, junction_c());
    }
    return peak;
  }

  [[nodiscard]] double junction_c() const {
    double sum = case_;
    for (const double rise : foster_) sum += rise;
    return sum;
  }
  [[nodiscard]] double sink_c() const { return sink_; }

 private:
  using Vector = std::array<double, 4>;  // case, mean case, sink, all above ambient; 1
  using Matrix = std::array<Vector, 4>;

  static Matrix times(const Matrix& a, const Matrix& b) {
    Matrix c{};
    for (std::size_t i = 0; i < 4; ++i)
      for (std::size_t k = 0; k < 4; ++k)
        for (std::size_t j = 0; j < 4; ++j) c[i][j] += a[i][k] * b[k][j];
    return c;
  }

  // exp(m) - 1, so that what is small beside 1 keeps its digits: (1 + d)^2 - 1 = 2 d + d d.
  static Matrix exponential_less_one(Matrix m) {
    double norm = 0;
    for (const Vector& row : m)
      for (const double x : row) norm = std::max(norm, std::abs(x));
    const int halvings = std::max(0, static_cast<int>(std::ceil(std::log2(norm + 1e-300))) + 4);
    for (Vector& row : m)
      for (double& x : row) x = std::ldexp(x, -halvings);
    Matrix term = m, sum = m;
    for (int n = 2; n < 20; ++n) {
      term = times(term, m);
      for (Vector& row : term)
        for (double& x : row) x /= n;
      for (std::size_t i = 0; i < 4; ++i)
        for (std::size_t j = 0; j < 4; ++j) sum[i][j] += term[i][j];
    }
    for (int i = 0; i < halvings; ++i) {
      const Matrix square = times(sum, sum);
      for (std::size_t r = 0; r < 4; ++r)
        for (std::size_t c = 0; c < 4; ++c) sum[r][c] = 2 * sum[r][c] + square[r][c];
    }
    return sum;
  }

  void step_cases(double seconds, double own_w, double mean_w) {
    const SinkParts& s = *parts_.sink;
    const double n = s.on_one_sink;
    if (s.case_to_sink_k_per_w == 0) {
      const double target = parts_.ambient_c + s.sink_to_ambient_k_per_w * n * mean_w;
      const double c = n * s.case_heat_capacity_j_per_k + s.sink_heat_capacity_j_per_k;
      sink_ = target + (sink_ - target) * std::exp(-seconds / (c * s.sink_to_ambient_k_per_w));
      case_ = mean_case_ = sink_;
      return;
    }
    const double g = 1 / s.case_to_sink_k_per_w, cc = s.case_heat_capacity_j_per_k;
    const double cs = s.sink_heat_capacity_j_per_k, ga = 1 / s.sink_to_ambient_k_per_w;
    Matrix m{};
    m[0] = {-g / cc, 0, g / cc, own_w / cc};
    m[1] = {0, -g / cc, g / cc, mean_w / cc};
    m[2] = {0, n * g / cs, -(n * g + ga) / cs, 0};
    for (Vector& row : m)
      for (double& x : row) x *= seconds;
    const Matrix change = exponential_less_one(m);
    const Vector now = {case_ - parts_.ambient_c, mean_case_ - parts_.ambient_c, sink_ - parts_.ambient_c, 1};
    Vector added{};
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 4; ++j) added[i] += change[i][j] * now[j];
    case_ += added[0];
    mean_case_ += added[1];
    sink_ += added[2];
  }

  ThermalParts parts_;
  std::vector<double> foster_;
  double case_, mean_case_, sink_;
};

}  // namespace burstloom::testing
