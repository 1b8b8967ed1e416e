// Heat from song to song: the state that one leaves is the state in which the next begins.
//
// Inside the evening the whole state is carried (every mode of the thermal network). A single song's file can
// say only how warm sink and cases are when it starts, so a state is told as the least pair of temperatures
// from which neither junction nor sink will ever be cooler than from the state itself: the sink as it is, and
// the case as warm as the junction's memory asks. The network is linear without bursts and hotter starts end
// hotter, so whatever holds from the pair holds from the state.
#pragma once

#include <optional>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/sets/built_set.hpp"

namespace burstloom {

class HeatOfSongs {
 public:
  /// Whether the profile says enough.
  [[nodiscard]] static bool is_told_by(const Profile& profile);
  /// For streams of one tick rate; throws what HeatModel throws. The profile is copied.
  HeatOfSongs(const Profile& profile, std::int64_t tick_hz);
  HeatOfSongs(const HeatOfSongs&) = delete;
  HeatOfSongs& operator=(const HeatOfSongs&) = delete;

  [[nodiscard]] Thermal at(const HeatStart& start) const;
  [[nodiscard]] HeatOfStream play(const BurstStream& stream, const Thermal& start,
                                  std::size_t points = 0) const;
  /// After a silence of that many seconds of the player's clock, which may run fast.
  [[nodiscard]] Thermal rested(const Thermal& state, double seconds) const;
  /// The pair of temperatures that is never cooler than the state, exact to 0.01 K.
  [[nodiscard]] HeatStart never_cooler_than(const Thermal& state) const;
  /// Whether the stream keeps junction and heatsink from there on, and after it.
  [[nodiscard]] bool holds(const BurstStream& stream, const HeatStart& start) const;
  /// The hottest even start (C) from which the stream holds, to 0.01 K downwards; nothing where it does not
  /// even hold from ambient.
  [[nodiscard]] std::optional<double> hottest_start_c(const BurstStream& stream) const;
  [[nodiscard]] double ambient_c() const { return model_.network().ambient_c(); }

 private:
  [[nodiscard]] BurstFigures figures(Tick on) const;

  Profile profile_;
  std::shared_ptr<const CurrentTable> table_;
  HeatModel model_;
  std::int64_t tick_hz_;
  std::array<double, kMostModes> even_{}, case_alone_{};  // modes of 1 K everywhere, and of the case only
};

}  // namespace burstloom
