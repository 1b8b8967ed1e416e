// What a stream takes from its supply and through its tank: sums over windows at every position, and the bus
// between bursts. Energies are those of the highest bus: a limit gets no credit for droop.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/burst_figures.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Supply power and tank current are means over any window of this length.
inline constexpr double kMeanWindowS = 1.0;

/// The largest share of a stream's bursts that any window holds.
struct WorstWindow {
  double sum = 0;  ///< of what the bursts were weighed with
  Tick end = 0;    ///< of the window: it is [end - window, end), and may reach past the stream's ends
};

/// The worst of all windows of `window` >= 1 ticks at every position. Each burst weighs `weight(on)` >= 0,
/// spread evenly over its on-time. Exact, in linear time. The stream must keep its invariant.
[[nodiscard]] WorstWindow worst_window(const BurstStream& stream, Tick window,
                                       const std::function<double(Tick on)>& weight);

/// Whether a look at where bursts start shows already that no such window holds more than `most`. False says
/// nothing.
[[nodiscard]] bool surely_no_window_holds_more(const BurstStream& stream, Tick window,
                                               const std::function<double(Tick on)>& weight, double most);

/// Whole ticks of a window of kMeanWindowS as a clock counts them that is fast by `clock_tolerance_percent`.
[[nodiscard]] Tick mean_window_ticks(std::int64_t tick_hz, double clock_tolerance_percent);

/// A limit's quantity at its worst.
struct WorstMean {
  double value = 0;  ///< W or A rms
  double at_s = 0;   ///< the end of the window
};

/// Mean power from the supply over any second: the energy of each burst, where it is drawn.
[[nodiscard]] WorstMean worst_supply_w(const BurstStream& stream, const Profile& profile,
                                       const FiguresOf& figures_of);
/// The same where it is more than `most_w`, else nothing.
[[nodiscard]] std::optional<WorstMean> supply_w_above(const BurstStream& stream, const Profile& profile,
                                                      const FiguresOf& figures_of, double most_w);

/// What the supply can deliver for ever (W): nominal bus times `supply.current_limit_a`; nothing where either
/// is not given.
[[nodiscard]] std::optional<double> supply_rating_w(const Profile& profile);

/// The bus: a capacitance that bursts discharge and a supply of constant voltage and limited current charges.
/// A small value.
class Bus {
 public:
  /// Starts full at `nominal_v`. All > 0 and finite, else Error (bad_input).
  Bus(double nominal_v, double capacitance_f, double current_limit_a);

  [[nodiscard]] double volts() const { return volts_; }
  /// At so many volts, up to nominal.
  void set_volts(double volts);
  /// A burst that would take `energy_at_nominal_j` >= 0 from a bus at nominal volts, evenly over `seconds` >
  /// 0. What it takes goes with V^2, and the supply charges meanwhile: dV/dt = I/C - E V / (C Vn^2 t), solved
  /// exactly.
  void burst(double seconds, double energy_at_nominal_j) { burst(pull_of(seconds, energy_at_nominal_j)); }
  /// The same of many bursts that are alike, reckoned once: how far it goes towards so many volts, or where
  /// it takes next to nothing (part 0), by how many.
  struct Pull {
    double volts = 0, part = 0;
  };
  [[nodiscard]] Pull pull_of(double seconds, double energy_at_nominal_j) const;
  void burst(const Pull& pull);
  /// Charging at the current limit for `seconds` >= 0, up to nominal.
  void gap(double seconds);

 private:
  double nominal_v_, capacitance_f_, current_limit_a_, volts_;
};

/// A point of a plot: the lowest bus in a stretch.
struct BusPoint {
  double from_s = 0, volts = 0;
};

struct BusOfStream {
  double nominal_v = 0, lowest_v = 0, lowest_at_s = 0;
  double end_v = 0;
  std::vector<BusPoint> curve;
};

/// The bus through a stream, at nominal bus_v, from `start_v` on or full; nothing without drive.bus_v,
/// supply.bus_capacitance_uf and supply.current_limit_a. `figures_of` gives energies at the highest bus,
/// which are scaled down by V^2.
[[nodiscard]] std::optional<BusOfStream> bus_of_stream(const BurstStream& stream, const Profile& profile,
                                                       const FiguresOf& figures_of, std::size_t points = 0,
                                                       std::optional<double> start_v = {});

}  // namespace burstloom
