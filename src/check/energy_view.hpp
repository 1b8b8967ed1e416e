// What a stream takes from the supply, sends through the tank and leaves in the switches as heat: the judge's
// own sums, on the table of what single bursts do. Burst by burst, one exponential after another: plain
// rather than fast.
#pragma once

#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "burstloom/coil/current_table.hpp"
#include "gate_view.hpp"

namespace burstloom::judge_detail {

/// One burst's share of everything.
struct BurstCost {
  double energy_j = 0, i2t_a2s = 0, tank_v = 0, switch_v = 0;
  // Lost in the switch that gets most and, on average, in those on its sink; resistive parts as they were at
  // 25 C.
  double hottest_fixed_j = 0, hottest_resistive_j = 0, mean_fixed_j = 0, mean_resistive_j = 0;
};

/// A quantity at its worst.
struct Worst {
  double value = 0;
  Tick at = 0;
  void see(double other, Tick when) {
    if (other > value) value = other, at = when;
  }
};

struct EnergyFigures {
  Worst supply_w, tank_a_rms, tank_v, switch_v, junction_c, heatsink_c;
  bool ran_away = false;
};

/// Which of the figures the profile gives enough data for, and in words why not.
struct EnergyGrounds {
  std::string why_no_model, why_no_sink, why_no_junction;
  [[nodiscard]] bool has_model() const { return why_no_model.empty(); }
  [[nodiscard]] bool has_sink() const { return has_model() && why_no_sink.empty(); }
  [[nodiscard]] bool has_junction() const { return has_sink() && why_no_junction.empty(); }
};
[[nodiscard]] EnergyGrounds energy_grounds(const Profile& profile, const CurrentTable& table);

/// Temperatures of one switch, the hottest, above ambient; case and sink as the mean of all on the sink has
/// them.
struct Warmth {
  std::vector<double> foster;  ///< junction over case, one a pair
  double case_k = 0, case_excess_k = 0, sink_k = 0;
  [[nodiscard]] double junction_k() const;
};

class EnergyView {
 public:
  /// `gate` is what the stream commands, `limits` the clock and stretch that the gate adds; `longer_us` is
  /// added to every on-time (negative: taken away), for a capture's uncertainty. All must outlive the view.
  EnergyView(const std::vector<Interval>& gate, Tick length, std::int64_t tick_hz, const Profile& profile,
             const CurrentTable& table, const TickLimits& limits, double longer_us = 0);

  /// Everything at its worst over the stream, started at the profile's start temperature.
  [[nodiscard]] EnergyFigures worst();

  /// Shortest rest (s) after which the stream may be played again, and again for ever, inside the limits for
  /// junction and heatsink; nothing where a day is not enough.
  [[nodiscard]] std::optional<double> rest_for_heat_s();

 private:
  struct Decay;
  struct Pass {
    Worst junction_c, heatsink_c;
    Warmth end;
    bool ran_away = false;
  };
  [[nodiscard]] const BurstCost& cost_of(Tick on);
  [[nodiscard]] Decay decay(double seconds) const;
  [[nodiscard]] Warmth cold() const;
  void step(Warmth& warmth, const Decay& decay, double hottest_w, double mean_w) const;
  double burst(Warmth& warmth, double seconds, const BurstCost& cost) const;
  [[nodiscard]] Pass play(const Warmth& start);
  [[nodiscard]] bool holds(const Pass& pass) const;
  [[nodiscard]] bool surely_loops(const Pass& cold_pass) const;
  [[nodiscard]] double guessed_rest_s(const Pass& cold_pass) const;
  [[nodiscard]] bool loops_with(double rest_s);
  void see_windows(EnergyFigures& figures);

  const std::vector<Interval>& gate_;
  Tick length_;
  std::int64_t tick_hz_;
  const Profile& profile_;
  const CurrentTable& table_;
  const TickLimits& limits_;
  double longer_us_;
  bool heats_, judges_junction_;
  double seconds_per_tick_;
  double case_c_ = 0, sink_c_ = 0, to_sink_ = 0, to_ambient_ = 0, on_sink_ = 1;  // J/K, K/W
  double slowest_rate_ = 0;                                                      // 1/s, negative
  std::unordered_map<Tick, BurstCost> costs_;
  std::optional<Pass> cold_pass_;
};

}  // namespace burstloom::judge_detail
