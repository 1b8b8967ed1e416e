// What one burst takes from the supply, sends through the tank and leaves in the switches: the judge's own
// sums, on the table of what single bursts do.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "burstloom/coil/current_table.hpp"
#include "gate_view.hpp"
#include "switch_losses.hpp"

namespace burstloom::judge_detail {

/// One burst's share of everything.
struct BurstCost {
  double energy_j = 0, i2t_a2s = 0, tank_v = 0, switch_v = 0;
  SwitchLosses losses;
};

/// Which of the figures the profile gives enough data for, and in words why not.
struct EnergyGrounds {
  std::string why_no_model, why_no_sink, why_no_junction;
  [[nodiscard]] bool has_model() const { return why_no_model.empty(); }
  [[nodiscard]] bool has_sink() const { return has_model() && why_no_sink.empty(); }
  [[nodiscard]] bool has_junction() const { return has_sink() && why_no_junction.empty(); }
};
[[nodiscard]] EnergyGrounds energy_grounds(const Profile& profile, const CurrentTable& table);

/// What a burst does to the lags of `ThermalModel`: each keeps a part of its state and gains by the fixed
/// loss, and by the resistive one times what the resistance has risen.
struct BurstHeat {
  struct Lag {
    double kept = 0, fixed_k = 0, resistive_k = 0;
  };
  std::vector<Lag> lags;
  double resistive_sum_k = 0;
};
class ThermalModel;

/// How long a burst may have been that a capture shows: as it looks, as short, as long as can be.
inline constexpr std::size_t kAsItLooks = 0, kShortest = 1, kLongest = 2, kReadings = 3;

struct OnTimeFigures {
  std::array<std::optional<double>, kReadings> peak_a;  ///< nullopt if nobody knows
  std::array<BurstCost, kReadings> cost;                ///< only with a model
  std::array<BurstHeat, kReadings> heat;                ///< only with grounds for it
  bool is_known = false;  ///< one of them was judged by itself, and is past no limit
};

/// All that follows from an on-time, worked out once for each that occurs.
class BurstCosts {
 public:
  /// `longer_us`: for each reading, what is added to the on-time that the gate sees; `thermal` only with
  /// grounds for heat. All must outlive it.
  BurstCosts(const Profile& profile, const CurrentTable& table, const TickLimits& limits,
             const ThermalModel* thermal, std::vector<double> longer_us);
  /// Lasts until `forget`.
  [[nodiscard]] OnTimeFigures& of(Tick on) {
    const auto row = static_cast<std::size_t>(on);
    return row < short_.size() && short_[row] ? *short_[row] : of_new(on);
  }
  /// What is looked up one by one, if it has become too many.
  void forget();

 private:
  [[nodiscard]] OnTimeFigures& of_new(Tick on);
  [[nodiscard]] OnTimeFigures figures(Tick on) const;
  [[nodiscard]] BurstCost cost(double on_us) const;

  const Profile& profile_;
  const CurrentTable& table_;
  const TickLimits& limits_;
  const ThermalModel* thermal_;
  std::vector<double> longer_us_;
  static constexpr Tick kShort = 16'384;
  std::vector<std::unique_ptr<OnTimeFigures>> short_;  // by on-time, as far as any was
  std::unordered_map<Tick, OnTimeFigures> long_;       // few, or forgotten
};

}  // namespace burstloom::judge_detail
