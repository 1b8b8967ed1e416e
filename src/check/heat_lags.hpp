// Heat in the hottest switch and the sink, the judge's own sums: a sum of first-order lags (one a Foster
// pair, one for what the hottest case is over the mean, two for case and sink, which warm each other), each
// stepped exactly.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "burst_cost.hpp"

namespace burstloom::judge_detail {

/// How warm each lag is, in K above ambient; in all they are the junction's rise.
using Warmth = std::vector<double>;

class HeatLags {
 public:
  /// The profile must have grounds for the sink; it and the limits must outlive this.
  HeatLags(const Profile& profile, const TickLimits& limits, std::int64_t tick_hz, bool judges_junction);

  /// At the profile's start temperature.
  [[nodiscard]] Warmth cold() const;
  [[nodiscard]] double junction_k(const Warmth& warmth) const;
  [[nodiscard]] double case_k(const Warmth& warmth) const;
  [[nodiscard]] double sink_k(const Warmth& warmth) const;
  /// Warms case and sink alike by `more` K: what a guess at a later state adds.
  void warm(Warmth& warmth, double more_k) const;

  /// Cools for so many ticks, for so many seconds.
  void rest(Warmth& warmth, Tick ticks) const;
  void rest_s(Warmth& warmth, double seconds) const;
  [[nodiscard]] BurstHeat burst_heat(Tick ticks, const BurstCost& cost) const;
  /// Plays a burst; `factor` is the resistance over that at 25 C, as the burst before left it, and as this
  /// one leaves it. Returns the junction's temperature (C) at the burst's end, where it is hottest; the
  /// resistance is the one it has there.
  double burst(Warmth& warmth, const BurstHeat& heat, double& factor) const;

  /// Silence long beside what this makes (s) is looked at on the way: the case goes on warming the sink for a
  /// while.
  [[nodiscard]] double case_time_s() const { return case_time_s_; }
  [[nodiscard]] double seconds(Tick ticks) const { return static_cast<double>(ticks) * seconds_per_tick_; }
  /// Of the slowest lag, 1/s, negative.
  [[nodiscard]] double slowest_rate() const { return rates_[slow()]; }
  [[nodiscard]] double ambient_c() const { return ambient_c_; }
  [[nodiscard]] bool judges_junction() const { return judges_junction_; }
  /// Over that at 25 C.
  [[nodiscard]] double resistance_at(double junction_c) const;

 private:
  [[nodiscard]] std::size_t excess() const { return rates_.size() - 3; }
  [[nodiscard]] std::size_t fast() const { return rates_.size() - 2; }
  [[nodiscard]] std::size_t slow() const { return rates_.size() - 1; }
  void set_case_and_sink(Warmth& warmth, double case_k, double sink_k) const;
  [[nodiscard]] Warmth steady(double hottest_w, double mean_w) const;

  const Profile& profile_;
  double ambient_c_, seconds_per_tick_, case_time_s_ = 0;
  bool judges_junction_, resistance_follows_;
  double fixed_factor_;     // of the resistance, where it does not follow the junction
  double resistance_rate_;  // its logarithm a K
  double to_sink_ = 0, to_ambient_ = 0, on_sink_ = 1;  // K/W
  std::vector<double> rates_;                          // of each lag, 1/s
  double sink_of_fast_ = 0, sink_of_slow_ = 0;  // the sink's part in the two lags that case and sink share
  // What each lag keeps after so many ticks: e^-(a + b) = e^-a e^-b, a table for each eight bits of the
  // ticks.
  static constexpr unsigned kTableBits = 8;
  std::vector<double> kept_;
};

/// The hottest that a playing gets.
class HeatPass {
 public:
  HeatPass(const HeatLags& lags, Warmth start);
  /// An interval as commanded, and one more in order; its heat lasts until its end and the stretch.
  void take(const Interval& interval, Tick stretch, const BurstHeat& heat);
  /// The song ends at `length`; sees what the sink still rises after it.
  void finish(Tick length);

  Worst junction_c, heatsink_c;
  Warmth end;
  bool ran_away = false;

 private:
  void rest_until(Tick until);
  const HeatLags* lags_;
  Tick now_ = 0;
  double factor_ = 1;
};

/// Shortest rest (s) after which a song may be played again, and again for ever, inside the limits for
/// junction and heatsink; nothing where a day is not enough, or where that takes a trial and there is no
/// `whole` to try it on. `cold_pass` is its playing from the start temperature.
[[nodiscard]] std::optional<double> rest_for_heat_s(const HeatLags& lags, const HeatPass& cold_pass,
                                                    const Limits& limits, Tick length, Tick stretch,
                                                    const BurstStream* whole, BurstCosts& costs);

}  // namespace burstloom::judge_detail
