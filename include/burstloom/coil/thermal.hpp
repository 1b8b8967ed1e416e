// The thermal network of a switch on its heatsink, and its temperatures from burst to burst.
//
// Junction to case is the data sheet's Foster network; one case (heat capacity C) stands through R on a sink
// that several switches share. All of it is linear, so it is solved once as a sum of first-order modes,
//   dx/dt = (g p - x) / tau,   junction = ambient + sum of all x,   sink = ambient + a weighted sum of two x,
// and a stretch of constant power is one exact exponential step per mode, however long it is:
//   x becomes x + (g p - x)(1 - exp(-t / tau)).
// The two modes of case and sink are those of the 2x2 system in closed form. Time is in ticks; what 1 - exp()
// gives for a number of ticks comes from tables of its 8-bit digits, exact to a few 1e-16.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A junction this hot (C) is lost; the resistance is not followed further, so that no number runs away.
inline constexpr double kRunawayC = 300.0;
/// Heat capacity of a case (J/K) where the profile gives none (docs/reference/coil-model.md), so that a
/// larger package is on the safe side. Reports must name it.
inline constexpr double kAssumedCaseHeatCapacity = 0.3;
inline constexpr std::size_t kMostModes = 20;

template <int P>
struct Lanes;  // of the step's inside

/// Case and sink, per switch where not said otherwise.
struct SinkParts {
  double case_heat_capacity_j_per_k = kAssumedCaseHeatCapacity;  ///< of one case
  double case_to_sink_k_per_w = 0;                               ///< of one switch; 0: the case is the sink
  double sink_to_ambient_k_per_w = 0;
  double sink_heat_capacity_j_per_k = 0;
  int on_one_sink = 1;
};

/// What a network is made of. Without a sink the cases are held at ambient, as a data sheet's curves are
/// drawn.
struct ThermalParts {
  std::vector<FosterPair> foster;  ///< at most 16
  std::optional<SinkParts> sink;
  double ambient_c = 25;
  double start_c = 25;               ///< of the sink
  double rds_on_factor_at_150c = 1;  ///< resistive heat at T is that at 25 C times factor^((T - 25) / 125)
  std::optional<double> case_start_c{};  ///< of cases and junctions; the sink's if not given
};

/// Heat (W) while a burst lasts: in the switch that is judged, the hottest, and the mean of all on its sink,
/// which is not more. Resistive heat is given as it were at 25 C.
struct PulsePower {
  double fixed_w = 0, resistive_w = 0;
  double mean_fixed_w = 0, mean_resistive_w = 0;
};

/// A network for one rate of ticks. Immutable; `Thermal` refers to it, so it must outlive every `Thermal`.
class ThermalNetwork {
 public:
  /// Throws Error (bad_input) for more than 16 pairs or for numbers that are not positive and finite.
  /// Resistances and capacities under 1e-6 count as 1e-6, so that no key of a profile can drive the modes
  /// apart.
  ThermalNetwork(const ThermalParts& parts, double seconds_per_tick);

  [[nodiscard]] double seconds_per_tick() const { return seconds_per_tick_; }
  [[nodiscard]] double ambient_c() const { return ambient_c_; }
  /// Resistive heat at a temperature over that at 25 C; held below -100 C and above kRunawayC.
  [[nodiscard]] double resistance_factor(double junction_c) const;
  /// Junction's rise (K) when `own_w` in the judged switch and a mean of `mean_w` on its sink repeat
  /// indefinitely, `on_s` of every `period_s`: at the pulses' end and at their start.
  struct Repeated {
    double peak = 0, valley = 0, mean = 0;
  };
  [[nodiscard]] Repeated repeated_pulse(double on_s, double period_s, double own_w, double mean_w) const;
  /// Sink to ambient by the mean heat of one switch: as many times the sink's own as switches share it.
  [[nodiscard]] double sink_resistance_k_per_w() const;
  /// ln(factor at 150 C) / 125: how fast resistive heat grows with the junction's temperature.
  [[nodiscard]] double log_factor_per_k() const { return log_factor_per_k_; }

 private:
  friend class Thermal;
  struct Mode {
    double tau_s = std::numeric_limits<double>::infinity();
    double gain_own = 0, gain_mean = 0;  // K/W, by the judged switch's heat and by the mean on the sink
    double start = 0;                    // K
  };
  void add_case_and_sink(const SinkParts& sink, double start_rise, double case_start_rise);
  void tabulate();
  template <int P>
  [[nodiscard]] Lanes<P> complement(Tick ticks) const;
  void complement_of_seconds(double seconds, double* q) const;

  std::vector<Mode>
      modes_;      // [0], [1]: case and sink; then what differs between cases; then the Foster pairs
  int pairs_ = 0;  // of modes, rounded up to what the step is compiled for
  double seconds_per_tick_, ambient_c_;
  std::array<double, kMostModes> gain_{}, start_{};
  double sink_weight_[2] = {0, 0};
  double fastest_sink_tau_s_ = 0;
  std::vector<double> digits_;  // 1 - exp(-t / tau) for t = d, 256 d, 65536 d ticks; 2 pairs_ numbers each
  double log_factor_per_k_ = 0;
  Tick shortest_part_ = 1;
};

/// Temperatures at one moment. A small value: copy it to try something out.
class Thermal {
 public:
  /// At the network's start temperature.
  explicit Thermal(const ThermalNetwork& network);

  /// A burst of `on` >= 1 ticks: heats, and returns a bound on the junction's highest temperature (C) in it,
  /// exact where no part of the network cools during the burst. The resistance is taken where the burst ends
  /// and up to 2.25 K hotter (of each part, in those over a millisecond), that is on the safe side. More heat
  /// is never cooler.
  double burst(Tick on, const PulsePower& power);
  /// No power for `off` >= 0 ticks.
  void gap(Tick off);
  /// Both, in one call.
  double gap_and_burst(Tick off, Tick on, const PulsePower& power);
  /// No power for some time, of any length. Returns the sink's highest temperature in it: the case goes on
  /// heating the sink after the last burst.
  double rest(double seconds);

  [[nodiscard]] double junction_c() const;
  [[nodiscard]] double sink_c() const;
  /// The junction has passed kRunawayC.
  [[nodiscard]] bool ran_away() const { return ran_away_; }
  [[nodiscard]] const ThermalNetwork& network() const { return *network_; }

  /// The parts of the junction's rise above ambient (K), one a mode, for those who solve for a periodic
  /// state.
  [[nodiscard]] const std::array<double, kMostModes>& modes() const { return x_; }
  void set_modes(const std::array<double, kMostModes>& x);
  /// Time constants (s) of the modes; infinite where there is none.
  [[nodiscard]] double time_constant_s(std::size_t mode) const;

 private:
  // The junction at a burst's start (C), and the sum of what rises during it (K).
  struct Reach {
    double start = 0, rise = 0;
    [[nodiscard]] double peak() const { return start + rise; }
  };
  [[nodiscard]] bool fits(const Reach& to) const {
    return to.peak() <= ceiling_c_ && to.peak() >= floor_c_ && ceiling_c_ < kRunawayC;
  }
  void raise_or_lower_ceiling(double peak_c);
  void forget_ceiling();
  template <int P>
  Reach reach(const Lanes<P>& q, const PulsePower& power, Lanes<P>& modes) const;
  template <int P>
  double part_of_burst(Lanes<P> modes, Tick on, const PulsePower& power);
  template <int P>
  double burst_by_another_ceiling(Tick on, const PulsePower& power, Reach to);
  template <int P>
  double burst_of(Tick off, Tick on, const PulsePower& power);

  const ThermalNetwork* network_;
  std::array<double, kMostModes> x_;
  double ceiling_c_ = 0, floor_c_ = 0, factor_ = 1;  // the resistance is taken at the ceiling
  bool ran_away_ = false;
};

}  // namespace burstloom
