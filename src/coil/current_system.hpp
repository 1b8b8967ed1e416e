// The circuit as matrices, and its exact motion between switchings.
#pragma once

#include <Eigen/Core>
#include <array>

#include "burstloom/coil/circuit.hpp"

namespace burstloom::current {

// What moves: winding current, charge of the tank capacitor (of the primary, where there is none), secondary
// current, top voltage, choke current; and the drive as a constant, so that one product moves all.
enum Place { kPrimary, kCharge, kSecondary, kTop, kFeed, kDrive, kPlaces };

using State = Eigen::Matrix<double, kPlaces, 1>;
using Row = Eigen::Matrix<double, 1, kPlaces>;
using Matrix = Eigen::Matrix<double, kPlaces, kPlaces>;

/// Exact motion z' = F z over a step and over any part of it.
class Motion {
 public:
  Motion() = default;
  /// `scale` balances F for the exponential: its places' typical sizes.
  Motion(const Matrix& rates, const State& scale, double step_s);

  [[nodiscard]] State step(const State& from) const { return powers_[0] * from; }
  /// Over `seconds`, 0 to one step: a binary ladder of exponentials and a first-order rest below step /
  /// 65536.
  [[nodiscard]] State advance(const State& from, double seconds) const;
  [[nodiscard]] const Matrix& matrix() const { return powers_[0]; }
  [[nodiscard]] double step_s() const { return step_s_; }

 private:
  static constexpr int kLevels = 17;
  Matrix rates_ = Matrix::Zero();
  double step_s_ = 0;
  std::array<Matrix, kLevels> powers_{};
};

/// A circuit ready to be walked through. Every figure is per volt of drive.
struct System {
  explicit System(const Circuit& circuit);

  Circuit circuit;
  Matrix rates = Matrix::Zero();
  double step_s = 0;  ///< a 32nd of a cycle of the fastest mode
  Motion driven;
  Motion held;  ///< primary current held at zero by blocking diodes, or choke current at zero
  Row watched;  ///< what the driver follows: positive while the drive is positive, but for the delay
  Row watched_slope, current_slope, charge_slope;
  Row held_off;  ///< the voltage that tries to push current through blocking diodes

  [[nodiscard]] bool current_fed() const { return circuit.kind == PrimaryKind::current_fed; }
  /// The largest primary current that what is stored could ever make while nothing drives: twice the energy
  /// over the leakage inductance, under the root. Stored energy only falls.
  [[nodiscard]] double could_reach_a(const State& state) const;
};

/// The rates of change of a circuit under drive.
[[nodiscard]] Matrix rates_of(const Circuit& circuit);
/// The typical size of each place where the drive is 1 V.
[[nodiscard]] State sizes_of(const Circuit& circuit);

/// Fastest and slowest angular frequency of the oscillating modes and the fastest rate of any (1/s); zeros
/// where nothing oscillates.
struct Spread {
  double fastest_oscillation = 0, slowest_oscillation = 0, fastest_rate = 0;
};
[[nodiscard]] Spread spread_of(const Circuit& circuit);

}  // namespace burstloom::current
