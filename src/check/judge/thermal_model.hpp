// Heat in the hottest switch and the sink, the judge's own sums: a sum of first-order lags (one a Foster
// pair, one for what the hottest case is over the mean, two for case and sink, which warm each other), each
// stepped exactly. docs/reference/coil-model.md has the formulas and where they come from.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "burst_cost.hpp"
#include "resistance_curve.hpp"

namespace burstloom::judge_detail {

/// Heat capacity of a case where the profile gives none.
inline constexpr double kCase_j_per_k = 0.3;

/// How warm each lag is, in K above ambient; in all they are the junction's rise.
using ThermalState = std::vector<double>;

/// A burst as commanded, and what it does.
struct HeatedInterval {
  Tick start = 0, end = 0;
  const BurstHeat* heat = nullptr;
};

class ThermalModel {
 public:
  /// The profile must have grounds for the sink; it and the limits must outlive this.
  ThermalModel(const Profile& profile, const TickLimits& limits, std::int64_t tick_hz, bool judges_junction);

  /// At the profile's start temperature.
  [[nodiscard]] ThermalState cold() const;
  [[nodiscard]] double junction_k(const ThermalState& state) const;
  [[nodiscard]] double case_k(const ThermalState& state) const;
  [[nodiscard]] double sink_k(const ThermalState& state) const { return sink_k(state[kFast], state[kSlow]); }
  [[nodiscard]] double sink_k(double fast_k, double slow_k) const {
    return sink_of_fast_ * fast_k + sink_of_slow_ * slow_k;
  }
  /// Warms case and sink alike by `more` K: what a guess at a later state adds.
  void warm(ThermalState& state, double more_k) const;

  void cool(ThermalState& state, double seconds) const;
  /// In a silence this long the case goes on warming the sink for a while: it is to be looked at on the way.
  [[nodiscard]] bool is_long(Tick ticks) const { return ticks > longest_short_; }
  /// What each lag keeps over a silence that is not long: computed once for each number of ticks that occurs.
  [[nodiscard]] const double* kept_over(Tick ticks) const {
    const std::size_t row = static_cast<std::size_t>(ticks) * rates_.size();
    return row < kept_.size() && kept_[row + kSlow] != 0 ? &kept_[row] : newly_kept_over(ticks);
  }
  [[nodiscard]] BurstHeat burst_heat(Tick ticks, const SwitchLosses& losses) const;

  [[nodiscard]] double case_time_s() const { return case_time_s_; }
  [[nodiscard]] double seconds(Tick ticks) const { return static_cast<double>(ticks) * seconds_per_tick_; }
  /// Of the slowest lag, 1/s, negative.
  [[nodiscard]] double slowest_rate() const { return rates_[kSlow]; }
  [[nodiscard]] double ambient_c() const { return ambient_c_; }
  [[nodiscard]] bool judges_junction() const { return judges_junction_; }
  /// Over that at 25 C.
  [[nodiscard]] double resistance_at(double junction_c) const { return resistance_.at(junction_c); }
  /// At the end of a burst whose fixed loss brings the junction to `fixed_c`, and each unit of resistance by
  /// `resistive_k` more.
  [[nodiscard]] double resistance_at_end(double fixed_c, double resistive_k) const;

 private:
  // The lags of the sink come first, where their place is known; then one for each Foster pair.
  static constexpr std::size_t kFast = 0, kSlow = 1, kExcess = 2, kOfSink = 3;
  void set_case_and_sink(ThermalState& state, double case_k, double sink_k) const;
  [[nodiscard]] const double* newly_kept_over(Tick ticks) const;
  [[nodiscard]] ThermalState steady(double hottest_w, double mean_w) const;

  const Profile& profile_;
  double ambient_c_, seconds_per_tick_, case_time_s_ = 0;
  bool judges_junction_, resistance_follows_;
  double fixed_resistance_;
  ResistanceCurve resistance_;
  double to_sink_ = 0, to_ambient_ = 0, on_sink_ = 1;  // K/W
  std::vector<double> rates_;                          // of each lag, 1/s
  double sink_of_fast_ = 0, sink_of_slow_ = 0;  // the sink's part in the two lags that case and sink share
  Tick longest_short_ = 0;
  mutable std::vector<double> kept_;  // a row for each number of ticks; 0 where not yet known
};

/// The hottest that a playing gets.
class ThermalRun {
 public:
  ThermalRun(const ThermalModel& model, ThermalState start);
  /// Intervals in order; the heat of each lasts until its end and the stretch. Where the resistance follows
  /// the junction it is the one at the burst's end, where that is hottest.
  void take(std::span<const HeatedInterval> intervals, Tick stretch);
  /// The song ends at `length`; sees what the sink still rises after it.
  void finish(Tick length);

  Worst junction_c, heatsink_c;
  ThermalState state;  ///< now
  bool ran_away = false;

 private:
  void cool_until(Tick start);
  void play(const HeatedInterval& it, Tick stretch);
  void see_sink(double sink_k, Tick at) { heatsink_c.update(model_->ambient_c() + sink_k, at); }

  const ThermalModel* model_;
  Tick now_ = 0;
};

/// Shortest rest (s) after which a song may be played again, any number of times, inside the limits for
/// junction and heatsink; nullopt if a day is not enough, or if that takes a trial and there is no
/// `whole` to try it on. `cold_run` is its playing from the start temperature.
[[nodiscard]] std::optional<double> rest_for_heat_s(const ThermalModel& model, const ThermalRun& cold_run,
                                                    const Limits& limits, Tick length, Tick stretch,
                                                    const BurstStream* whole, BurstCosts& costs);

}  // namespace burstloom::judge_detail
