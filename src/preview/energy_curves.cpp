#include "burstloom/preview/energy_curves.hpp"

#include <algorithm>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/supply.hpp"

namespace burstloom {

EnergyCurves energy_curves(const BurstStream& stream, const Profile& profile, std::size_t points) {
  EnergyCurves curves;
  const auto current = current_table(profile);
  if (stream.bursts.empty() || !current->has_model()) return curves;
  const FiguresOf figures_of = [&](Tick on) {
    return current->figures(stream.microseconds(on) + profile.drive.pulse_stretch_ns / 1e3);
  };
  if (missing_for_heat(profile).heatsink.empty()) {
    const HeatModel model(profile, stream.tick_hz);
    const HeatOfStream heat = heat_of_stream(model, stream, figures_of, Thermal(model.network()), points);
    for (const HeatPoint& point : heat.curve) {
      if (model.judges_junction()) curves.junction_c.push_back(point.junction_c);
      curves.heatsink_c.push_back(point.sink_c);
    }
  }
  if (const auto bus = bus_of_stream(stream, profile, figures_of, points))
    for (const BusPoint& point : bus->curve) curves.bus_v.push_back(point.volts);
  return curves;
}

std::vector<BurstEffect> burst_effects(const BurstStream& stream, const Profile& profile, bool measured) {
  std::vector<Tick> lengths;
  lengths.reserve(stream.bursts.size());
  for (const Burst& burst : stream.bursts) lengths.push_back(burst.on);
  std::sort(lengths.begin(), lengths.end());
  lengths.erase(std::unique(lengths.begin(), lengths.end()), lengths.end());
  const auto current = current_table(profile);
  const double clock = measured ? 0.0 : profile.drive.clock_tolerance_percent / 100;
  const double stretch_us = measured ? 0.0 : profile.drive.pulse_stretch_ns / 1e3;
  std::vector<BurstEffect> effects;
  for (const Tick on : lengths) {
    const double on_us = stream.microseconds(on) * (1 + clock) + stretch_us;
    BurstEffect effect{.on = on, .peak_a = current->peak_current_a(on_us).value_or(-1)};
    if (current->has_model()) effect.energy_j = current->figures(on_us).energy_j;
    effects.push_back(effect);
  }
  return effects;
}

}  // namespace burstloom
