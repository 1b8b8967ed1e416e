// What bursts ask of the coil beside their time: energy of the supply, current of the tank, heat of the
// switches.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <vector>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "gains.hpp"

namespace burstloom::guard_detail {

/// The longest on-time from `on_min` to `on` that weighs no more than `most`; weights never fall.
[[nodiscard]] Tick longest_within(const std::vector<double>& weight_of, double most, Tick on_min, Tick on);

/// Limits that go with energy and heat, and how a line is brought inside them. Those that the profile does
/// not set, or gives no data for, bind nothing.
class Burdens {
 public:
  Burdens(const Profile& profile, std::int64_t tick_hz, const GateLimits& limits);

  /// Turns passages down, ahead of time and smoothly, until supply, tank current, heatsink and junction hold.
  void turn_down(Line& line) const;
  /// The last word, exact and in order of time, for items that do not overlap: trims or drops what still
  /// passes.
  void enforce(Line& line) const;
  /// Whether `turn_down` and `enforce` would surely leave these items, which do not overlap, as they are.
  [[nodiscard]] bool hold(const std::vector<Item>& items) const;

  /// At most `most` of what `weight_of` counts (by ticks at the gate) started within any window.
  struct Window {
    Tick window = 0;
    double most = 0;
    std::vector<double> weight_of;
    Causes cause = 0;
  };
  [[nodiscard]] const std::vector<Window>& windows() const { return windows_; }
  /// Nothing where neither heatsink nor junction can be judged, or neither is limited.
  [[nodiscard]] const std::optional<HeatModel>& heat() const { return heat_; }
  /// Infinite where there is none.
  [[nodiscard]] double junction_limit_c() const { return junction_c_; }
  [[nodiscard]] double heatsink_limit_c() const { return heatsink_c_; }
  /// What the burst loses (J) by its ticks at the gate, never falling; only with heat().
  [[nodiscard]] const std::vector<double>& losses() const { return loss_of_; }
  /// Makes the item, `off` ticks after the one before, as long as heat allows, or drops it; `state` goes on
  /// with it.
  void keep_cool(Thermal& state, Tick off, Item& item) const;

 private:
  void turn_down_for(std::vector<Item>& items, const Window& window) const;
  void enforce_window(Line& line, const Window& window) const;
  void turn_down_heat(std::vector<Item>& items) const;
  void bound_heat();
  [[nodiscard]] bool surely_cool(const std::vector<Item>& items) const;
  [[nodiscard]] bool may_ask_for_less(const std::vector<Item>& items) const;
  void enforce_heat(Line& line) const;
  [[nodiscard]] bool heat_holds(const Thermal& state, double junction_c) const;
  [[nodiscard]] Tick longest_that_stays_cool(const Thermal& before, Tick off, Tick on) const;

  const GateLimits& limits_;
  std::vector<Window> windows_;
  std::optional<HeatModel> heat_;
  std::vector<PulsePower> power_of_;  ///< by ticks at the gate
  std::vector<double> loss_of_;       ///< J, never falling: what heat is turned down by
  double junction_c_, heatsink_c_;    ///< infinite where there is none
  /// Heat of the judged switch, and of the mean on the sink: watts while the shortest burst lasts.
  struct Heat {
    double own_w = 0, mean_w = 0;
  };
  std::vector<Heat> most_heat_of_;  ///< by ticks at the gate, with the resistance as high as it may get
  std::array<double, kMostModes> rise_by_own_{}, rise_by_mean_{};  ///< K/W: of each mode, at most
  Tick junction_memory_ = 0, sink_memory_ = 0;
};

}  // namespace burstloom::guard_detail
