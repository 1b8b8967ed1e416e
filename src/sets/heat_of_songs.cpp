#include "heat_of_songs.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom {
namespace {

// Kept between this model and the limits: what is woven keeps 0.02 K (guard), so that it always holds again.
constexpr double kMarginK = 0.01;
// States are compared at moments that grow by this factor; what is off by less than kUnseenK is rounded away.
constexpr double kFirstMoment_s = 1e-4, kNextMoment = 1.25, kUnseenK = 1e-3;

std::array<double, kMostModes> modes_of(const Profile& profile, double sink_k, double case_k) {
  ThermalParts parts = thermal_parts(profile);
  parts.start_c = parts.ambient_c + sink_k;
  parts.case_start_c = parts.ambient_c + case_k;
  return Thermal(ThermalNetwork(parts, 1e-6)).modes();
}

double rounded_up(double celsius) {
  return std::ceil((celsius - kUnseenK) * 100) / 100;
}

double slowest_s(const Thermal& state) {
  double slowest = 0;
  for (std::size_t mode = 0; mode < kMostModes; ++mode)
    if (std::isfinite(state.time_constant_s(mode))) slowest = std::max(slowest, state.time_constant_s(mode));
  return slowest;
}

}  // namespace

bool HeatOfSongs::is_told_by(const Profile& profile) {
  return current_table(profile)->has_model() && missing_for_heat(profile).heatsink.empty();
}

HeatOfSongs::HeatOfSongs(const Profile& profile, std::int64_t tick_hz)
    : profile_(profile),
      table_(current_table(profile)),
      model_(profile, tick_hz),
      tick_hz_(tick_hz),
      even_(modes_of(profile, 1, 1)),
      case_alone_(modes_of(profile, 0, 1)) {}

BurstFigures HeatOfSongs::figures(Tick on) const {
  const double us = static_cast<double>(on) * 1e6 / static_cast<double>(tick_hz_);
  return table_->figures(us * (1 + profile_.drive.clock_tolerance_percent / 100) +
                         profile_.drive.pulse_stretch_ns / 1e3);
}

Thermal HeatOfSongs::at(const HeatStart& start) const {
  std::array<double, kMostModes> modes{};
  for (std::size_t k = 0; k < kMostModes; ++k)
    modes[k] = (start.sink_c - ambient_c()) * even_[k] + (start.case_c - start.sink_c) * case_alone_[k];
  Thermal state(model_.network());
  state.set_modes(modes);
  return state;
}

HeatOfStream HeatOfSongs::play(const BurstStream& stream, const Thermal& start, std::size_t points) const {
  return heat_of_stream(
      model_, stream, [this](Tick on) { return figures(on); }, start, points);
}

Thermal HeatOfSongs::rested(const Thermal& state, double seconds) const {
  Thermal later = state;
  later.rest(seconds * (1 - profile_.drive.clock_tolerance_percent / 100));
  return later;
}

HeatStart HeatOfSongs::never_cooler_than(const Thermal& state) const {
  const double sink_c = state.sink_c();
  Thermal real = state, alike = at({sink_c, sink_c}), warmer_case = at({ambient_c(), ambient_c() + 1});
  double case_more_k = 0;
  const double last_s = 10 * slowest_s(state);
  for (double step_s = 0, at_s = 0; at_s < last_s; at_s += step_s) {
    for (Thermal* each : {&real, &alike, &warmer_case}) each->rest(step_s);
    const auto ask = [&](double lacking_k, double gained_k) {
      if (lacking_k > kUnseenK && gained_k > 0) case_more_k = std::max(case_more_k, lacking_k / gained_k);
    };
    ask(real.junction_c() - alike.junction_c(), warmer_case.junction_c() - ambient_c());
    ask(real.sink_c() - alike.sink_c(), warmer_case.sink_c() - ambient_c());
    step_s = std::max(kFirstMoment_s, at_s * (kNextMoment - 1));
  }
  return {rounded_up(sink_c), rounded_up(sink_c + case_more_k)};
}

bool HeatOfSongs::holds(const BurstStream& stream, const HeatStart& start) const {
  const HeatOfStream heat = play(stream, at(start));
  const Limits& limits = profile_.limits;
  return !heat.ran_away &&
         (!limits.junction_c || !model_.judges_junction() ||
          heat.junction_c <= *limits.junction_c - kMarginK) &&
         (!limits.heatsink_c || heat.sink_c <= *limits.heatsink_c - kMarginK);
}

std::optional<double> HeatOfSongs::hottest_start_c(const BurstStream& stream) const {
  constexpr double kHottest_c = 300;
  const auto holds_from = [&](double celsius) { return holds(stream, {celsius, celsius}); };
  double cool = ambient_c(), hot = kHottest_c;
  if (!holds_from(cool)) return std::nullopt;
  while (hot - cool > 0.01) {
    const double middle = (cool + hot) / 2;
    (holds_from(middle) ? cool : hot) = middle;
  }
  return cool;
}

}  // namespace burstloom
