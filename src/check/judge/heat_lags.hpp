// Heat in the hottest switch and the sink, the judge's own sums: a sum of first-order lags (one a Foster
// pair, one for what the hottest case is over the mean, two for case and sink, which warm each other), each
// stepped exactly.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "burst_cost.hpp"
#include "resistance_curve.hpp"

namespace burstloom::judge_detail {

/// How warm each lag is, in K above ambient; in all they are the junction's rise. Their number is rounded up;
/// those that are none stay at 0.
using Warmth = std::vector<double>;

/// A burst as commanded, and what it does.
struct HeatedInterval {
  Tick start = 0, end = 0;
  const BurstHeat* heat = nullptr;
};

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

  /// Silence long beside what this makes (s) is looked at on the way: the case goes on warming the sink for a
  /// while.
  [[nodiscard]] double case_time_s() const { return case_time_s_; }
  [[nodiscard]] bool is_long(double seconds) const { return seconds > kLongRest * case_time_s_; }
  [[nodiscard]] double seconds(Tick ticks) const { return static_cast<double>(ticks) * seconds_per_tick_; }
  /// Of the slowest lag, 1/s, negative.
  [[nodiscard]] double slowest_rate() const { return rates_[kSlow]; }
  [[nodiscard]] double ambient_c() const { return ambient_c_; }
  [[nodiscard]] bool judges_junction() const { return judges_junction_; }
  /// Over that at 25 C.
  [[nodiscard]] double resistance_at(double junction_c) const;

 private:
  friend class HeatPass;
  // The lags of the sink come first, where their place is known; then one for each Foster pair.
  static constexpr std::size_t kFast = 0, kSlow = 1, kExcess = 2, kOfSink = 3;
  void set_case_and_sink(Warmth& warmth, double case_k, double sink_k) const;
  [[nodiscard]] Warmth steady(double hottest_w, double mean_w) const;

  const Profile& profile_;
  double ambient_c_, seconds_per_tick_, case_time_s_ = 0;
  bool judges_junction_, resistance_follows_;
  double fixed_factor_;  // of the resistance, where it does not follow the junction
  ResistanceCurve resistance_;
  double to_sink_ = 0, to_ambient_ = 0, on_sink_ = 1;  // K/W
  std::vector<double> rates_;                          // of each lag, 1/s
  std::size_t width_ = 0;                              // their number, rounded up
  double sink_of_fast_ = 0, sink_of_slow_ = 0;  // the sink's part in the two lags that case and sink share
  // What each lag keeps after so many ticks: e^-(a + b) = e^-a e^-b, a table for each eight bits of the
  // ticks.
  static constexpr unsigned kTableBits = 8;
  static constexpr double kLongRest = 0.05;  // beside what the case makes
  Tick short_rest_ = 0;                      // up to this the first two tables do, and it is not long
  std::vector<double> kept_;
};

/// The hottest that a playing gets.
class HeatPass {
 public:
  HeatPass(const HeatLags& lags, Warmth start);
  /// Intervals in order; the heat of each lasts until its end and the stretch. Where the resistance follows
  /// the junction it is the one at the burst's end, where that is hottest.
  void take(std::span<const HeatedInterval> intervals, Tick stretch);
  /// The song ends at `length`; sees what the sink still rises after it.
  void finish(Tick length);

  Worst junction_c, heatsink_c;
  Warmth end;
  bool ran_away = false;

 private:
  template <std::size_t kPairs>
  void play(std::span<const HeatedInterval> intervals, Tick stretch);
  void rest_for(Tick ticks, Tick until, Worst& sink);
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
