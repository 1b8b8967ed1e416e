// A single tank, its bridge and its switches, and the network that carries their heat away, integrated in
// small steps (Runge-Kutta of fourth order). Plain numbers in, plain numbers out: shares no code with the
// library, so that an error in one of its formulas is seen here.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace burstloom::testing {

template <class State, class Slope>
State runge_kutta(const State& y, double h, const Slope& slope) {
  const auto moved = [&](const State& by, double much) {
    State there = y;
    for (std::size_t i = 0; i < y.size(); ++i) there[i] += much * by[i];
    return there;
  };
  const State a = slope(y), b = slope(moved(a, h / 2)), c = slope(moved(b, h / 2)), d = slope(moved(c, h));
  State next = y;
  for (std::size_t i = 0; i < y.size(); ++i) next[i] += h / 6 * (a[i] + 2 * b[i] + 2 * c[i] + d[i]);
  return next;
}

/// L i' = v - R i - vc, C vc' = i; the bridge gives +-drive_v and follows the current's zeros, `delay_s`
/// late.
struct IntegratedTank {
  double henry = 0, farad = 0, ohm = 0, drive_v = 0, delay_s = 0;
  bool stops_at_zero = false;  ///< a burst goes on to the end of its half cycle
};

/// What one of two positions of the bridge carries.
struct IntegratedPosition {
  double i2t = 0, charge = 0, diode_i2t = 0, diode_charge = 0;
  std::vector<double> switched_on_a, switched_off_a;  ///< |i| where it takes over, where it hands over
};

/// A burst from rest, ring-down through diodes back to the bus included.
struct IntegratedBurst {
  IntegratedPosition position[2];
  double peak_a = 0, drawn_j = 0, returned_j = 0, driven_s = 0, at_end_a = 0;
  double largest_i2t = 0, largest_charge = 0;  ///< of a half cycle while driven
  [[nodiscard]] double both(double IntegratedPosition::*what) const {
    return position[0].*what + position[1].*what;
  }
};

class TankIntegrator {
 public:
  explicit TankIntegrator(const IntegratedTank& tank)
      : tank_(tank), step_(2 * M_PI * std::sqrt(tank.henry * tank.farad) / 200) {}

  IntegratedBurst burst(double on_s) {
    drive(on_s);
    burst_.driven_s = now_;
    burst_.at_end_a = std::abs(amperes());
    burst_.position[side_].switched_off_a.push_back(burst_.at_end_a);
    ring_down();
    return burst_;
  }

 private:
  // Current, capacitor; integrals of i^2, |i| and v i.
  using State = std::array<double, 5>;
  [[nodiscard]] double amperes() const { return now_state_[0]; }
  [[nodiscard]] State slope(const State& y, double volts) const {
    return {(volts - tank_.ohm * y[0] - y[1]) / tank_.henry, y[0] / tank_.farad, y[0] * y[0], std::abs(y[0]),
            volts * y[0]};
  }
  [[nodiscard]] State after(double h, double volts) const {
    return runge_kutta(now_state_, h, [&](const State& y) { return slope(y, volts); });
  }
  void go(double h, double volts) {
    now_state_ = after(h, volts);
    now_ += h;
    burst_.peak_a = std::max(burst_.peak_a, std::abs(amperes()));
  }
  // As far as the current's next zero, at most h; whether it came.
  bool go_to_zero(double h, double volts, double direction) {
    if (after(h, volts)[0] * direction > 0) {
      go(h, volts);
      return false;
    }
    double low = 0, high = h;
    for (int i = 0; i < 60; ++i)
      (after((low + high) / 2, volts)[0] * direction > 0 ? low : high) = (low + high) / 2;
    go(high, volts);
    now_state_[0] = 0;
    return true;
  }

  // What was added to the integrals since the last call, to the position that is on.
  void account(bool through_diodes) {
    IntegratedPosition& it = burst_.position[side_];
    (through_diodes ? it.diode_i2t : it.i2t) += now_state_[2];
    (through_diodes ? it.diode_charge : it.charge) += now_state_[3];
    (through_diodes ? burst_.returned_j : burst_.drawn_j) += (through_diodes ? -1 : 1) * now_state_[4];
    if (!through_diodes) {
      burst_.largest_i2t = std::max(burst_.largest_i2t, now_state_[2]);
      burst_.largest_charge = std::max(burst_.largest_charge, now_state_[3]);
    }
    now_state_[2] = now_state_[3] = now_state_[4] = 0;
  }

  void drive(double on_s) {
    double direction = 1, flips_at = HUGE_VAL;  // the side's own direction; when the bridge follows
    const auto volts = [&] { return side_ == 0 ? tank_.drive_v : -tank_.drive_v; };
    burst_.position[0].switched_on_a.push_back(0);
    for (;;) {
      if (now_ >= on_s && !tank_.stops_at_zero) break;
      const double until = std::min(flips_at, tank_.stops_at_zero ? HUGE_VAL : on_s);
      const double h = std::min(step_, until - now_);
      if (flips_at == HUGE_VAL && go_to_zero(h, volts(), direction)) {
        if (now_ >= on_s && tank_.stops_at_zero) break;
        direction = -direction;
        flips_at = now_ + tank_.delay_s;
      } else if (flips_at != HUGE_VAL) {
        go(h, volts());
      }
      if (now_ >= flips_at) {
        account(false);
        burst_.position[side_].switched_off_a.push_back(std::abs(amperes()));
        side_ = 1 - side_;
        burst_.position[side_].switched_on_a.push_back(std::abs(amperes()));
        flips_at = HUGE_VAL;
      }
    }
    account(false);
  }

  // Diodes hold the bus against the current until it stops; it starts again while the capacitor holds more.
  void ring_down() {
    for (;;) {
      if (amperes() == 0 && std::abs(now_state_[1]) <= tank_.drive_v) return;
      const double direction =
          amperes() != 0 ? std::copysign(1, amperes()) : -std::copysign(1, now_state_[1]);
      side_ = direction > 0 ? 0 : 1;
      if (amperes() == 0) go(step_ * 1e-3, -direction * tank_.drive_v);
      while (!go_to_zero(step_, -direction * tank_.drive_v, direction)) {
      }
      account(true);
    }
  }

  IntegratedTank tank_;
  double step_, now_ = 0;
  std::size_t side_ = 0;
  State now_state_{};
  IntegratedBurst burst_;
};

/// Foster pairs from junction to case, one case through R on a sink that `on_one_sink` of them share, ambient
/// at 0: the judged switch's case, the mean case of all, and the sink. Resistive watts are those at `cold_k`
/// and grow by the factor `rds_at_150c` in 125 K.
struct IntegratedNetwork {
  struct Pair {
    double k_per_w = 0, tau_s = 0;
  };
  struct Watts {
    double fixed = 0, resistive = 0, mean_fixed = 0, mean_resistive = 0;
  };
  std::vector<Pair> foster;
  double case_j_per_k = 0, case_to_sink = 0, sink_to_ambient = 0, sink_j_per_k = 0, on_one_sink = 1;
  double rds_at_150c = 1, ambient_c = 25;

  std::vector<double> state = {0, 0, 0};  ///< cases and sink; then the pairs
  double hottest_k = 0, hottest_sink_k = 0;

  void go(double seconds, const Watts& watts) {
    state.resize(3 + foster.size());
    double shortest = case_to_sink * case_j_per_k;
    for (const Pair& pair : foster) shortest = std::min(shortest, pair.tau_s);
    const int steps = 4 + static_cast<int>(seconds / (shortest / 5));
    for (int i = 0; i < steps; ++i) {
      state = runge_kutta(state, seconds / steps, [&](const auto& y) { return slope(y, watts); });
      hottest_k = std::max(hottest_k, junction_k(state));
      hottest_sink_k = std::max(hottest_sink_k, state[2]);
    }
  }

 private:
  [[nodiscard]] double junction_k(const std::vector<double>& y) const {
    double sum = y[0];
    for (std::size_t i = 0; i < foster.size(); ++i) sum += y[3 + i];
    return sum;
  }
  [[nodiscard]] std::vector<double> slope(const std::vector<double>& y, const Watts& watts) const {
    const double factor =
        watts.resistive > 0 ? std::pow(rds_at_150c, (ambient_c + junction_k(y) - 25) / 125) : 0;
    const double own_w = watts.fixed + watts.resistive * factor;
    const double mean_w = watts.mean_fixed + watts.mean_resistive * factor;
    std::vector<double> d = {
        (own_w - (y[0] - y[2]) / case_to_sink) / case_j_per_k,
        (mean_w - (y[1] - y[2]) / case_to_sink) / case_j_per_k,
        (on_one_sink * (y[1] - y[2]) / case_to_sink - y[2] / sink_to_ambient) / sink_j_per_k};
    for (std::size_t i = 0; i < foster.size(); ++i)
      d.push_back((foster[i].k_per_w * own_w - y[3 + i]) / foster[i].tau_s);
    return d;
  }
};

}  // namespace burstloom::testing
