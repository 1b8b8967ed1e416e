#include "current_system.hpp"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <unsupported/Eigen/MatrixFunctions>

namespace burstloom {
namespace current {
namespace {

constexpr double kStepsACycle = 32;

bool has_secondary(const Circuit& c) {
  return c.coupling > 0;
}

double mutual_h(const Circuit& c) {
  return c.coupling * std::sqrt(c.primary_h * c.secondary_h);
}

double elastance(const Circuit& c) {
  return c.kind == PrimaryKind::untuned ? 0.0 : 1 / c.primary_f;
}

// The voltages across the two windings, row by row, before the inductances turn them into slopes.
void set_windings(const Circuit& c, Matrix& rates) {
  Eigen::Matrix<double, 2, kPlaces> volts = Eigen::Matrix<double, 2, kPlaces>::Zero();
  const bool fed = c.kind == PrimaryKind::current_fed;
  volts(0, kPrimary) = -c.primary_ohm;
  volts(0, kCharge) = fed ? elastance(c) : -elastance(c);
  if (!fed) volts(0, kDrive) = 1;
  if (!has_secondary(c)) {
    rates.row(kPrimary) = volts.row(0) / c.primary_h;
    return;
  }
  volts(1, kSecondary) = -c.secondary_ohm;
  volts(1, kTop) = -1;
  Eigen::Matrix2d inductances;
  inductances << c.primary_h, mutual_h(c), mutual_h(c), c.secondary_h;
  const Eigen::Matrix<double, 2, kPlaces> slopes = inductances.inverse() * volts;
  rates.row(kPrimary) = slopes.row(0);
  rates.row(kSecondary) = slopes.row(1);
  rates(kTop, kSecondary) = 1 / c.secondary_f;
  rates(kTop, kTop) = -c.load_s / c.secondary_f;
}

Matrix held_rates(const Circuit& c, const Matrix& driven) {
  Matrix held = driven;
  if (c.kind == PrimaryKind::current_fed) {
    held.row(kFeed).setZero();
    return held;
  }
  held.row(kPrimary).setZero();
  held.row(kCharge).setZero();
  held.row(kSecondary).setZero();
  if (!has_secondary(c)) return held;
  held(kSecondary, kSecondary) = -c.secondary_ohm / c.secondary_h;
  held(kSecondary, kTop) = -1 / c.secondary_h;
  return held;
}

double coarsest_step_s(const Circuit& c) {
  const Spread spread = spread_of(c);
  const double pace = spread.fastest_oscillation > 0 ? spread.fastest_oscillation : spread.fastest_rate;
  return 2 * std::numbers::pi / (kStepsACycle * pace);
}

Eigen::VectorXcd eigenvalues_of(const Circuit& c) {
  const State size = sizes_of(c);
  const Matrix balanced = size.cwiseInverse().asDiagonal() * rates_of(c) * size.asDiagonal();
  return balanced.eigenvalues();
}

}  // namespace

Matrix rates_of(const Circuit& c) {
  Matrix rates = Matrix::Zero();
  set_windings(c, rates);
  rates(kCharge, kPrimary) = 1;
  if (c.kind != PrimaryKind::current_fed) return rates;
  rates(kCharge, kPrimary) = -1;
  rates(kCharge, kFeed) = 0.5;
  rates(kFeed, kFeed) = -c.feed_ohm / c.feed_h;
  rates(kFeed, kCharge) = -elastance(c) / 2 / c.feed_h;
  rates(kFeed, kDrive) = 1 / c.feed_h;
  return rates;
}

State sizes_of(const Circuit& c) {
  const double secondary_pace = has_secondary(c) ? 1 / std::sqrt(c.secondary_h * c.secondary_f) : 1;
  const double pace =
      c.kind == PrimaryKind::untuned ? secondary_pace : 1 / std::sqrt(c.primary_h * c.primary_f);
  State size = State::Ones();
  size(kPrimary) = 1 / std::sqrt(c.primary_h);
  size(kCharge) = size(kPrimary) / pace;
  if (has_secondary(c)) {
    size(kSecondary) = 1 / std::sqrt(c.secondary_h);
    size(kTop) = 1 / std::sqrt(c.secondary_f);
  }
  if (c.kind == PrimaryKind::current_fed) size(kFeed) = 1 / std::sqrt(c.feed_h);
  size(kDrive) = pace * std::sqrt(c.primary_h);
  return size;
}

Spread spread_of(const Circuit& c) {
  Spread spread;
  for (const auto& value : eigenvalues_of(c)) {
    spread.fastest_rate = std::max(spread.fastest_rate, std::abs(value));
    const double pace = std::abs(value.imag());
    if (!(pace > 1e-3 * std::abs(value))) continue;
    spread.fastest_oscillation = std::max(spread.fastest_oscillation, pace);
    spread.slowest_oscillation =
        spread.slowest_oscillation > 0 ? std::min(spread.slowest_oscillation, pace) : pace;
  }
  return spread;
}

Motion::Motion(const Matrix& rates, const State& scale, double step) : rates_(rates), step_s_(step) {
  const Matrix balanced = scale.cwiseInverse().asDiagonal() * rates * scale.asDiagonal();
  for (int level = 0; level < kLevels; ++level) {
    const Matrix moved = (balanced * std::ldexp(step, -level)).exp();
    powers_[static_cast<std::size_t>(level)] = scale.asDiagonal() * moved * scale.cwiseInverse().asDiagonal();
  }
}

State Motion::advance(const State& from, double seconds) const {
  State state = from;
  double left = seconds / step_s_, part = 1;
  for (const Matrix& power : powers_) {
    if (left >= part) {
      state = power * state;
      left -= part;
    }
    part /= 2;
  }
  if (left > 0) state += left * step_s_ * (rates_ * state);
  return state;
}

System::System(const Circuit& given)
    : circuit(given), rates(rates_of(given)), step_s(coarsest_step_s(given)) {
  const State size = sizes_of(given);
  driven = Motion(rates, size, step_s);
  held = Motion(held_rates(given, rates), size, step_s);
  watched.setZero();
  switch (given.kind) {
    case PrimaryKind::series_resonant:
      watched(kPrimary) = 1;
      break;
    case PrimaryKind::untuned:  // the secondary's current opposes the drive that induces it
      watched(kSecondary) = -1;
      break;
    case PrimaryKind::current_fed:
      watched(kCharge) = 1;
      break;
  }
  watched_slope = watched * rates;
  current_slope = rates.row(kPrimary);
  charge_slope = rates.row(kCharge);
  held_off.setZero();
  held_off(kCharge) = elastance(given);
  if (!has_secondary(given)) return;
  const double ratio = mutual_h(given) / given.secondary_h;
  held_off(kSecondary) = -given.secondary_ohm * ratio;
  held_off(kTop) = -ratio;
}

double System::could_reach_a(const State& z) const {
  const Circuit& c = circuit;
  double twice = c.primary_h * z(kPrimary) * z(kPrimary) + elastance(c) * z(kCharge) * z(kCharge);
  if (has_secondary(c))
    twice += 2 * mutual_h(c) * z(kPrimary) * z(kSecondary) + c.secondary_h * z(kSecondary) * z(kSecondary) +
             c.secondary_f * z(kTop) * z(kTop);
  if (current_fed()) twice += c.feed_h * z(kFeed) * z(kFeed);
  return std::sqrt(std::max(0.0, twice) / (c.primary_h * (1 - c.coupling * c.coupling)));
}

}  // namespace current

std::vector<Mode> modes_of(const Circuit& circuit) {
  std::vector<Mode> modes;
  for (const auto& value : current::eigenvalues_of(circuit))
    if (value.imag() > 1e-3 * std::abs(value))
      modes.push_back({value.imag() / (2 * std::numbers::pi), -1 / value.real()});
  std::sort(modes.begin(), modes.end(),
            [](const Mode& one, const Mode& other) { return one.frequency_hz < other.frequency_hz; });
  return modes;
}

}  // namespace burstloom
