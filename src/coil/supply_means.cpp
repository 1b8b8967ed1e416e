// Limits that are means over a second: supply power and tank current.
#include <cmath>

#include "burstloom/coil/supply.hpp"
#include "by_on_time.hpp"

namespace burstloom {
namespace {

template <class Of>
std::function<double(Tick)> remembered(const FiguresOf& figures_of, Of of) {
  return [&figures_of, of, known = ByOnTime<double>{}](Tick on) mutable {
    return known.of(on, [&](Tick) { return of(figures_of(on)); });
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

}  // namespace burstloom
