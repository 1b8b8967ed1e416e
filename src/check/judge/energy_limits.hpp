// Peak current, and the limits on what goes with energy: tank, switch voltage, junction, heatsink, supply.
// Where edges are uncertain, with every burst as long and as short as it may be.
#pragma once

#include <optional>
#include <span>

#include "limit_tracker.hpp"
#include "thermal_model.hpp"

namespace burstloom::judge_detail {

class PeakCurrent {
 public:
  explicit PeakCurrent(const JudgeContext& context)
      : context_(context), tracker_("peak current", "A", *context.profile.limits.peak_current_a) {}
  /// Whether it is past the limit.
  bool take(const GateInterval& interval, const OnTimeFigures& figures, bool is_cut);
  [[nodiscard]] LimitTracker finish();
  /// False where some bursts are longer than points or model can tell the current of.
  [[nodiscard]] bool told() const { return told_; }

 private:
  const JudgeContext& context_;
  LimitTracker tracker_;
  bool told_ = true;
};

class EnergyLimits {
 public:
  /// `thermal` only with grounds for heat.
  EnergyLimits(const JudgeContext& context, const EnergyGrounds& grounds, const ThermalModel* thermal);
  /// What a burst does by itself.
  void take_alone(const GateInterval& interval, const OnTimeFigures& figures);
  /// The intervals from this number on, and the figures of each.
  void take(const RingBuffer<GateInterval>& gate, std::size_t from, std::span<OnTimeFigures* const> figures);
  /// In the order of the verdict. `cut`: by the capture's start or end.
  [[nodiscard]] std::vector<LimitTracker> finish(Tick length, bool cut);
  /// The first interval that a second still reaches; those before it are forgotten.
  std::size_t forget(std::size_t newest);
  [[nodiscard]] bool ran_away() const {
    return readings_[kAsItLooks].heat && readings_[kAsItLooks].heat->ran_away;
  }
  /// From the start temperature; nullopt without grounds for heat.
  [[nodiscard]] const std::optional<ThermalRun>& cold_run() const { return readings_[kAsItLooks].heat; }

 private:
  struct Weights {
    double energy_j = 0, i2t_a2s = 0;
  };
  struct Reading {
    HeaviestWindow energy, i2t;
    RingBuffer<Weights> weights;  // of the intervals in the gate
    Worst tank_v, switch_v;
    std::optional<ThermalRun> heat;
  };
  using Figure = Worst (*)(const Reading&);
  void judge_one(const char* name, const char* unit, std::optional<double> allowed, Figure figure,
                 double from);

  [[nodiscard]] bool weighs() const { return given().supply_w || given().tank_capacitor_a_rms; }
  [[nodiscard]] const Limits& given() const { return context_.profile.limits; }

  const JudgeContext& context_;
  const EnergyGrounds& grounds_;
  std::vector<Reading> readings_;  // one, or three where edges are uncertain
  std::vector<LimitTracker> trackers_;
  std::vector<HeatedInterval> heated_;  // room for one block
  bool cut_ = false;
};

}  // namespace burstloom::judge_detail
