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

Tick second_of(const BurstStream& stream, const Profile& profile) {
  return mean_window_ticks(stream.tick_hz, profile.drive.clock_tolerance_percent);
}

template <class Of>
WorstWindow worst_second(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of,
                         Of of) {
  return worst_window(stream, second_of(stream, profile), remembered(figures_of, of));
}

double energy_of(const BurstFigures& figures) {
  return figures.energy_j;
}

}  // namespace

WorstMean worst_supply_w(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of) {
  const WorstWindow worst = worst_second(stream, profile, figures_of, energy_of);
  return {worst.sum / kMeanWindowS, stream.seconds(worst.end)};
}

std::optional<WorstMean> supply_w_above(const BurstStream& stream, const Profile& profile,
                                        const FiguresOf& figures_of, double most_w) {
  if (surely_no_window_holds_more(stream, second_of(stream, profile), remembered(figures_of, energy_of),
                                  most_w * kMeanWindowS))
    return std::nullopt;
  const WorstMean worst = worst_supply_w(stream, profile, figures_of);
  return worst.value > most_w ? std::optional(worst) : std::nullopt;
}

WorstMean worst_tank_a_rms(const BurstStream& stream, const Profile& profile, const FiguresOf& figures_of) {
  const WorstWindow worst = worst_second(
      stream, profile, figures_of, [](const BurstFigures& f) { return f.i2t_a2s + f.i2t_ring_down_a2s; });
  return {std::sqrt(worst.sum / kMeanWindowS), stream.seconds(worst.end)};
}

}  // namespace burstloom
