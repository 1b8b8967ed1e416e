// Heat in the switches: what one burst loses in them, and how warm a stream makes them. docs/reference/coil-model.md
// has the formulas, the constants and where they come from.
//
// Not in the model, for want of data in a profile: gate and output-capacitance losses, recovery of the
// diodes, change of an IGBT's or diode's drop with temperature. A prediction is no permission: measure the
// case.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/burst_figures.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/coil/thermal.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Drop (V) of the diodes that carry the ring-down (docs/reference/coil-model.md).
inline constexpr double kDiodeDropV = 1.5;

/// What a burst loses in one switch (J). Resistive loss is given as it were at 25 C.
struct SwitchLoss {
  double fixed_j = 0, resistive_j = 0;
};

/// Loss in the switch that gets most, and the mean of those on one sink (never more).
struct BurstLoss {
  SwitchLoss hottest, mean_on_sink;
};

/// Keys of the profile that are missing ("switch.rds_on_mohm"); empty where the limit can be judged.
struct MissingForHeat {
  std::vector<std::string> junction, heatsink;
};
[[nodiscard]] MissingForHeat missing_for_heat(const Profile& profile);

/// What judgements of heat rest on that the profile does not say (assumed case, diode drop): to be told with
/// them. Nothing where no heat is judged.
[[nodiscard]] std::vector<std::string> heat_remarks(const Profile& profile);

/// How many switches the bridge has, parallel ones included.
[[nodiscard]] int switches_in_bridge(const Profile& profile);

/// Each position of the bridge carries every second half cycle: half of all, and at most half of the largest
/// half cycle more. Parallel switches share the current alike. Needs what `missing_for_heat` asks for the
/// heatsink.
///  MOSFET: Rds(on) i^2 t; 0.5 V I (rise + fall) a commutation, 0.5 V I fall at the end unless the driver
///  stops at 0. IGBT: vce_sat Q + vce_slope i^2 t; switching_uj for every on and off, unscaled: the profile
///  does not say at which current it was measured, and drivers that follow the current commutate well under
///  it. Ring-down: kDiodeDropV Q; when freewheeling all of it in one position.
[[nodiscard]] BurstLoss burst_loss(const Profile& profile, const BurstFigures& figures);

/// The parts of the profile's network. Without Foster pairs junction is case, and Rds(on) is taken as at 150
/// C.
[[nodiscard]] ThermalParts thermal_parts(const Profile& profile);

/// Losses and network of one profile for streams of one tick_hz.
class HeatModel {
 public:
  /// Throws Error (bad_input, naming the keys) when the heatsink cannot be judged. With `clock_may_run_fast`
  /// every time is shortened by the clock's tolerance.
  HeatModel(const Profile& profile, std::int64_t tick_hz, bool clock_may_run_fast = true);

  [[nodiscard]] const ThermalNetwork& network() const { return network_; }
  [[nodiscard]] bool judges_junction() const { return judges_junction_; }
  /// Heat of a burst of `on` ticks: all of its loss, the ring-down's too, while it lasts. `figures` may
  /// belong to a longer on-time (pulse stretch). Throws Error (bad_input) for figures that are negative or
  /// not finite.
  [[nodiscard]] PulsePower power(Tick on, const BurstFigures& figures) const;

 private:
  Profile profile_;
  ThermalNetwork network_;
  bool judges_junction_;
};

/// The figures of a burst of so many ticks.
using FiguresOf = std::function<BurstFigures(Tick on)>;

/// The highest temperatures of one stretch of a stream.
struct HeatPoint {
  double from_s = 0, junction_c = 0, sink_c = 0;
};

struct HeatOfStream {
  double junction_c = 0, sink_c = 0;        ///< highest; the sink's also after the last burst
  double junction_at_s = 0, sink_at_s = 0;  ///< end of the burst, or of the gap, that was hottest
  bool ran_away = false;  ///< the junction passed kRunawayC; temperatures past it mean nothing
  double ran_away_at_s = 0;
  std::vector<HeatPoint> curve;  ///< the stream in equal stretches; empty ones repeat the one before
  Thermal at_end;                ///< at stream.length, to go on from
};

/// Heat of a stream from `start` on, burst by burst. The stream must keep its invariant. `points` of the
/// curve, 0 to 100 000. `figures_of` is asked once or a few times for each on-time that occurs.
[[nodiscard]] HeatOfStream heat_of_stream(const HeatModel& model, const BurstStream& stream,
                                          const FiguresOf& figures_of, const Thermal& start,
                                          std::size_t points = 0);

/// A train of equal bursts that never ends.
struct SteadyHeat {
  bool runs_away =
      false;  ///< there is no steady state: loss grows faster with heat than the sink carries away
  double junction_c = 0;  ///< at the bursts' ends
  double sink_c = 0;      ///< mean
  double loss_w = 0;      ///< mean of the hottest switch
  /// Change of the mean rise with itself, d(rise)/d(junction): alpha Rth P. Warmer by 1 / (1 - gain) than
  /// without the feedback for a small change; 1 is the edge.
  double feedback_gain = 0;
};
[[nodiscard]] SteadyHeat steady_heat(const ThermalNetwork& network, const PulsePower& power, double on_s,
                                     double period_s);

}  // namespace burstloom
