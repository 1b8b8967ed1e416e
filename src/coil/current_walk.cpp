#include "current_walk.hpp"

#include <algorithm>
#include <cmath>

#include "cubic.hpp"

namespace burstloom::current {
namespace {

// Below this share of a step a remainder is none.
constexpr double kNoTime = 1e-9;

// Integral of f^2 over a step from values and slopes: trapezoid with its end correction, exact to the fourth
// power of the step.
double square_integral(double step, double from, double to, double slope_from, double slope_to) {
  return step / 2 * (from * from + to * to) + step * step / 6 * (from * slope_from - to * slope_to);
}

double integral(double step, double from, double to, double slope_from, double slope_to) {
  return step / 2 * (from + to) + step * step / 12 * (slope_from - slope_to);
}

// Integral of |f| over a step in which f goes straight.
double size_integral(double step, double from, double to) {
  if (from * to >= 0) return step / 2 * (std::abs(from) + std::abs(to));
  return step / 2 * (from * from + to * to) / (std::abs(from) + std::abs(to));
}

}  // namespace

void Walk::at_rest() {
  state_.setZero();
  held_ = true;
}

void Walk::charge_tank() {
  const double elastance = system_->held_off(kCharge);
  if (elastance > 0) state_(kCharge) = 1 / elastance;
}

void Walk::turn_frame() {
  state_.head<kFeed>() *= -1;
  frame_ = -frame_;
}

// From perfect rest the tank of a current-fed stage would only touch zero and never commutate: a real one is
// not perfectly balanced. A tenth of what the choke brings in a half cycle is enough, and lost in what
// follows.
void Walk::unbalance() {
  const Circuit& c = system_->circuit;
  const double half_cycle_s = M_PI * std::sqrt(c.primary_h * c.primary_f);
  state_(kPrimary) -= 0.1 * half_cycle_s / c.feed_h;
}

void Walk::begin_burst() {
  if (system_->current_fed() && state_.head<kDrive>().isZero()) unbalance();
  const double watched = system_->watched * state_;
  const double pushed = system_->held_off * state_;
  if (watched < 0 || (watched == 0 && pushed > 0)) turn_frame();
  state_(kDrive) = 1;
  expected_ = frame_;
  edges_s_.clear();
  driven_ = true;
  held_ = false;
}

void Walk::end_burst() {
  driven_ = false;
  if (system_->current_fed() || system_->circuit.ring_down == RingDown::freewheel) {
    state_(kDrive) = 0;
    if (!system_->current_fed()) edges_s_.clear();
    return;
  }
  edges_s_.clear();
  if (state_(kPrimary) < 0) turn_frame();
  state_(kDrive) = -1;
  if (state_(kPrimary) == 0) after_zero();
}

void Walk::step(double longest_s) {
  just_switched_ = false;
  if (driven_) return drive_step(longest_s);
  if (system_->current_fed()) return choke_ring_step(longest_s);
  if (system_->circuit.ring_down == RingDown::freewheel) {
    const double step_s = std::min(longest_s, system_->step_s);
    return accept(step_s, moved(system_->driven, step_s), false);
  }
  if (held_) return held_step(longest_s);
  ring_step(longest_s);
}

State Walk::moved(const Motion& motion, double step_s) const {
  return step_s == motion.step_s() ? motion.step(state_) : motion.advance(state_, step_s);
}

// On the cubic first, then one Newton step on the exact motion.
double Walk::zero_in(const Motion& motion, const Row& watched, const Row& slope, double offset, double step_s,
                     const State& next) const {
  const Cubic cubic{step_s, watched * state_ - offset, watched * next - offset, slope * state_, slope * next};
  const double guess_s = cubic.zero() * step_s;
  const State there = motion.advance(state_, guess_s);
  const double steepness = slope * there;
  if (steepness == 0) return guess_s;
  return std::clamp(guess_s - (watched * there - offset) / steepness, 0.0, step_s);
}

void Walk::drive_step(double longest_s) {
  const System& s = *system_;
  double step_s = std::min(longest_s, s.step_s);
  if (!edges_s_.empty()) step_s = std::clamp(edges_s_.front() - time_s_, 0.0, step_s);
  State next = moved(s.driven, step_s);
  if (expected_ * frame_ * s.watched.dot(next) < 0) {
    // Two crossings cannot be nearer than a thousandth of a step: the walk must get on.
    const double crossing_s = std::max(zero_in(s.driven, s.watched, s.watched_slope, 0, step_s, next),
                                       std::min(step_s, s.step_s * 1e-3));
    expected_ = -expected_;
    edges_s_.push_back(time_s_ + crossing_s + s.circuit.delay_s);
    if (edges_s_.back() < time_s_ + step_s) {
      step_s = crossing_s + s.circuit.delay_s;
      next = s.driven.advance(state_, step_s);
    }
  }
  accept(step_s, next, false);
  if (edges_s_.empty() || edges_s_.front() - time_s_ > kNoTime * s.step_s) return;
  edges_s_.erase(edges_s_.begin());
  just_switched_ = true;
  sums_.commutations += 1;
  sums_.commutated_a += std::abs(state_(s.current_fed() ? kFeed : kPrimary));
  turn_frame();
}

// Without its bus the stage runs on from what the choke holds; the choke's own diode stops its current at
// zero.
void Walk::choke_ring_step(double longest_s) {
  if (held_) {
    const double step_s = std::min(longest_s, system_->step_s);
    return accept(step_s, moved(system_->held, step_s), true);
  }
  drive_step(longest_s);
  if (state_(kFeed) > 0) return;
  state_(kFeed) = 0;
  held_ = true;
}

void Walk::ring_step(double longest_s) {
  const System& s = *system_;
  double step_s = std::min(longest_s, s.step_s);
  State next = moved(s.driven, step_s);
  const bool ends = next(kPrimary) <= 0;
  if (ends && state_(kPrimary) == 0) {  // the push came back under the drive's volts inside this step
    held_ = true;
    return accept(step_s, moved(s.held, step_s), true);
  }
  if (ends) {
    Row current = Row::Zero();
    current(kPrimary) = 1;
    step_s = zero_in(s.driven, current, s.current_slope, 0, step_s, next);
    next = s.driven.advance(state_, step_s);
    next(kPrimary) = 0;
  }
  accept(step_s, next, false);
  if (ends) after_zero();
}

// Diodes at zero current: they go on only when the tanks push with more than the drive's 1 V.
void Walk::after_zero() {
  const double push = system_->held_off * state_;
  held_ = std::abs(push) <= 1;
  if (push > 1) turn_frame();
}

void Walk::held_step(double longest_s) {
  const System& s = *system_;
  double step_s = std::min(longest_s, s.step_s);
  State next = moved(s.held, step_s);
  const double push = s.held_off * next;
  if (std::abs(push) <= 1) return accept(step_s, next, true);
  // The slope of the push while held: only the secondary moves.
  Row slope = Row::Zero();
  const Circuit& c = s.circuit;
  const double to_current = s.held_off(kSecondary), to_top = s.held_off(kTop);
  slope(kSecondary) = to_current * -c.secondary_ohm / c.secondary_h + to_top / c.secondary_f;
  slope(kTop) = -to_current / c.secondary_h - to_top * c.load_s / c.secondary_f;
  step_s = zero_in(s.held, s.held_off, slope, push > 0 ? 1 : -1, step_s, next);
  accept(step_s, s.held.advance(state_, step_s), true);
  held_ = false;
  if (push > 0) turn_frame();
}

bool Walk::at_rest_for_good() const {
  if (!held_) return false;
  const System& s = *system_;
  if (s.current_fed()) return false;
  const Circuit& c = s.circuit;
  if (!(c.coupling > 0)) return true;
  const double twice =
      c.secondary_h * state_(kSecondary) * state_(kSecondary) + c.secondary_f * state_(kTop) * state_(kTop);
  const double largest = std::abs(s.held_off(kTop)) * std::sqrt(twice / c.secondary_f) +
                         std::abs(s.held_off(kSecondary)) * std::sqrt(twice / c.secondary_h);
  return std::abs(s.held_off(kCharge) * state_(kCharge)) + largest <= 1;
}

bool Walk::current_grows() const {
  return !held_ && state_(kPrimary) * system_->current_slope.dot(state_) > 0;
}

void Walk::accept(double step_s, const State& next, bool held) {
  const System& s = *system_;
  time_s_ += step_s;
  if (held && !s.current_fed()) {
    state_ = next;
    return;
  }
  const double slope_from = s.current_slope * state_, slope_to = s.current_slope * next;
  const Cubic current{step_s, state_(kPrimary), next(kPrimary), slope_from, slope_to};
  sums_.peak_a = std::max(sums_.peak_a, current.largest());
  if (s.held_off(kCharge) > 0) {
    const Cubic charge{step_s, state_(kCharge), next(kCharge), s.charge_slope * state_,
                       s.charge_slope * next};
    sums_.tank_v = std::max(sums_.tank_v, s.held_off(kCharge) * charge.largest());
  }
  if (s.current_fed()) {
    const double feed_from = s.rates.row(kFeed) * state_, feed_to = s.rates.row(kFeed) * next;
    const double from = state_(kFeed), to = next(kFeed);
    if (!held) {
      sums_.energy_j += state_(kDrive) * integral(step_s, from, to, feed_from, feed_to);
      sums_.i2t_a2s += square_integral(step_s, from, to, feed_from, feed_to);
      sums_.charge_c += size_integral(step_s, from, to);
    }
  } else {
    const double carried = next(kCharge) - state_(kCharge);
    sums_.energy_j += state_(kDrive) * carried;
    sums_.i2t_a2s += square_integral(step_s, current.from, current.to, slope_from, slope_to);
    sums_.charge_c +=
        current.from * current.to >= 0 ? std::abs(carried) : size_integral(step_s, current.from, current.to);
  }
  state_ = next;
}

}  // namespace burstloom::current
