// Limits that are means over a second: supply power and tank current.
#include <cmath>
#include <unordered_map>

#include "burstloom/coil/supply.hpp"

namespace burstloom {
namespace {

// Figures cost more than sums, and songs have few different on-times.
template <class Of>
std::function<double(Tick)> remembered(const FiguresOf& figures_of, Of of) {
  return [&figures_of, of, known = std::unordered_map<Tick, double>{}](Tick on) mutable {
    const auto [place, is_new] = known.try_emplace(on, 0.0);
    if (is_new) place->second = of(figures_of(on));
    return place->second;
  };
}

template <class Of>
WorstWindow worst_second(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of,
                         Of of) {
  return worst_window(stream, mean_window_ticks(stream.tick_hz, profile.drive.clock_tolerance_percent),
                      remembered(figures_of, of));
}

}  // namespace

WorstMean worst_supply_w(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of) {
  const WorstWindow worst =
      worst_second(stream, profile, figures_of, [](const BurstFigures& f) { return f.energy_j; });
  return {worst.sum / kMeanWindowS, stream.seconds(worst.end)};
}

WorstMean worst_tank_a_rms(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of) {
  const WorstWindow worst = worst_second(
      stream, profile, figures_of, [](const BurstFigures& f) { return f.i2t_a2s + f.i2t_ring_down_a2s; });
  return {std::sqrt(worst.sum / kMeanWindowS), stream.seconds(worst.end)};
}

}  // namespace burstloom
