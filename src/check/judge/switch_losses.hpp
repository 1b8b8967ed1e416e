// What a burst leaves in the switches as heat, the judge's own sums. docs/reference/coil-model.md has the
// formulas and where they come from.
#pragma once

#include "burstloom/coil/burst_figures.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom::judge_detail {

/// The drop (V) of the diodes that carry the ring-down.
inline constexpr double kDiodeDrop_v = 1.5;

/// Lost in one switch; the resistive part as it were at 25 C.
struct SwitchLoss {
  double fixed_j = 0, resistive_j = 0;
};

/// In the switch that gets most, and on average in those on its sink.
struct SwitchLosses {
  SwitchLoss hottest, mean_on_sink;
};
/// The profile must have grounds for the sink.
[[nodiscard]] SwitchLosses switch_losses(const Profile& profile, const BurstFigures& figures);

[[nodiscard]] bool is_igbt(const Profile& profile);

}  // namespace burstloom::judge_detail
