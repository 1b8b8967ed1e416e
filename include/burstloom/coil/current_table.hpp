// What one burst does in a coil, by its on-time: peak current, energy, heat's integrals. One table a profile.
//
// The model (circuit.hpp) is walked once with streamers and once without; bench points replace the model's
// peak in the state they were taken in. Limits use the worse of the two states, at the highest bus. Peaks
// scale with the bus, energies and integrals of i^2 with its square.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/burst_figures.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// A row of the model: a burst, its ring-down included.
struct CurrentRow {
  BurstFigures figures;
  double residual_a =
      0;  ///< the most that what still oscillates after the shortest gap could add to the next burst
  double ring_down_s = 0;  ///< until no more than a hundredth of the largest current can come back
};

/// The bench points beside the model, one row a point.
struct PointBesideModel {
  double on_time_us = 0, measured_a = 0, model_a = 0;  ///< at the bus of the measurement
  [[nodiscard]] double off_percent() const { return 100 * (measured_a / model_a - 1); }
};
/// Past this the model or the measurement is doubted.
inline constexpr double kDoubtfulPercent = 15;

class CurrentTable {
 public:
  explicit CurrentTable(const Profile& profile);

  /// Whether the profile gives the model all that it needs; `why_no_model` names what is missing. `remark`
  /// says what the model assumes, if anything.
  [[nodiscard]] bool has_model() const { return why_no_model_.empty(); }
  [[nodiscard]] const std::string& why_no_model() const { return why_no_model_; }
  [[nodiscard]] const std::string& remark() const { return remark_; }
  /// Whether anything is known of the peak current, by model or points.
  [[nodiscard]] bool knows_peak() const { return has_model() || scale_.has_value(); }

  /// Peak primary current (A) at the highest bus of a burst that the gate driver sees for `on_time_us`: the
  /// worse of loaded and unloaded, with what the burst before may have left after the shortest gap. Never
  /// falls with the on-time. Nothing where nobody knows: past the last point without a model, past the
  /// table's end with one (5 % over the longest on-time, or never where the coil settles earlier).
  [[nodiscard]] std::optional<double> peak_current_a(double on_time_us) const;
  /// The longest on-time (us) whose peak is told and at most `limit_a`; 0 where even the shortest is past it.
  [[nodiscard]] double longest_on_time_us(double limit_a) const;
  /// The same for any figure, by the model: `&BurstFigures::tank_capacitor_v`.
  [[nodiscard]] double longest_on_time_us(double BurstFigures::*figure, double limit) const;

  /// All figures of a burst, each the worse of loaded and unloaded, at the highest bus, none of them falling
  /// with the on-time; between rows linear (the worse neighbour where the driver finishes its half cycle),
  /// past the last row the last two go on. Only with a model.
  [[nodiscard]] BurstFigures figures(double on_time_us) const;

  /// The model's rows in one state, each burst from rest, at the highest bus, in rising order of on-time; the
  /// same on-times in both states. Empty without a model.
  [[nodiscard]] const std::vector<CurrentRow>& rows(bool loaded) const { return from_rest_[loaded ? 1 : 0]; }
  /// Amperes that what still oscillates after any burst and the shortest gap may add to the next one: a
  /// driver that follows the current always adds to it. (What diodes hold in the tank is in the table.)
  [[nodiscard]] double residual_a() const { return residual_a_; }
  /// After this long (s) no burst adds more than a hundredth of the largest current.
  [[nodiscard]] double ring_down_s() const;

  [[nodiscard]] std::vector<PointBesideModel> points_beside_model() const;

 private:
  void build(const Profile& profile, const std::vector<double>& on_us, bool loaded);
  [[nodiscard]] std::optional<double> point_peak_a(double on_time_us) const;
  [[nodiscard]] std::size_t row_for(double on_time_us) const;

  std::optional<MeasuredCurrent> measured_;
  std::optional<double>
      scale_;  ///< from the bus of the points to the highest; nothing where they cannot be used
  std::string why_no_model_, remark_;
  bool stops_at_zero_ = false;
  std::vector<CurrentRow> from_rest_[2];
  std::vector<BurstFigures> worse_;  ///< of both states and both starts, points in; peaks never fall
  double residual_a_ = 0, end_us_ = 0;
};

/// The table of a profile, built when it is first asked for; a thread keeps those of four profiles.
[[nodiscard]] std::shared_ptr<const CurrentTable> current_table(const Profile& profile);

}  // namespace burstloom
