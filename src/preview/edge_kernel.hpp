// What one edge of a gate leaves in band-limited samples: a table of an exact response at sub-sample phases
// (the idea of BLIT and BLEP: Stilson and Smith, "Alias-free digital synthesis of classic analog waveforms",
// ICMC 1996).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace burstloom::preview_detail {

/// The low-pass: a sinc under Kaiser's window (beta 10.06: stop band -100 dB), in samples. Flat to 0.4 of the
/// rate, -6 dB at 0.45, down from half the rate on.
inline constexpr int kHalfWidth = 32;
inline constexpr double kCutoff = 0.45;
[[nodiscard]] double low_pass(double x);

/// The response to exp(-t / tau) from t = 0 on (tau in samples), or to a unit step (no tau), of the low-pass.
/// Between the table's phases it is a cubic through values and slopes; the slope is exact: G' = h - G / tau.
class EdgeKernel {
 public:
  [[nodiscard]] static EdgeKernel decay(double tau_samples) { return EdgeKernel(1.0 / tau_samples); }
  [[nodiscard]] static EdgeKernel step() { return EdgeKernel(0.0); }

  /// Adds `weight` times the response to `out`, whose first sample stands `lead` samples (0 to 1) after the
  /// response begins, kHalfWidth samples before its edge. `out` holds `taps()` samples.
  void add(double weight, double lead, std::span<double> out) const;

  [[nodiscard]] std::size_t taps() const { return taps_; }
  /// What the response is after its last tap: 1 for a step, 0 for a decay.
  [[nodiscard]] double rest() const { return rest_; }

 private:
  explicit EdgeKernel(double decay_rate);
  void fill(double decay_rate);

  struct Row {
    std::vector<double> value, slope;  // slope: per step of the table
  };
  std::size_t taps_;
  double rest_;
  std::vector<Row> rows_;
};

}  // namespace burstloom::preview_detail
