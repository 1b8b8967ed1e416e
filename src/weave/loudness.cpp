#include "loudness.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/coil/current_table.hpp"

namespace burstloom::weave_detail {
namespace {

// A power of two. Energies between two neighbours are as good as on a straight line.
constexpr int kRows = 256;

// Parts of the last one's, for evenly spaced on-times, never falling.
std::vector<double> energies_of(const Profile& profile, double first_us, double last_us) {
  const auto table = current_table(profile);
  const bool modelled = table->has_model() && table->figures(last_us).energy_j > 0;
  std::vector<double> energies;
  double most = 0;
  for (int i = 0; i <= kRows; ++i) {
    const double us = first_us + (last_us - first_us) * i / kRows;
    most = std::max(most, modelled ? table->figures(us).energy_j : us * us * us);
    energies.push_back(most);
  }
  for (double& energy : energies) energy /= most > 0 ? most : 1;
  return energies;
}

}  // namespace

double power_of(double level, double hz) {
  const double amplitude = level * level;
  return amplitude * amplitude * std::min(1.0, hz / kReferenceHz);
}

Loudness::Loudness(const Profile& profile, std::int64_t tick_hz)
    : ticks_per_s_(static_cast<double>(tick_hz)) {
  const CommandLimits limits = command_limits(profile);
  const double first_us = std::min(limits.on_time_min_us, limits.on_time_max_us);
  const double last_us = std::max(limits.on_time_max_us, first_us);
  const double ticks_per_us = ticks_per_s_ / 1e6;
  energies_ = energies_of(profile, first_us, last_us);
  first_ = first_us * ticks_per_us;
  step_ = (last_us - first_us) * ticks_per_us / kRows;
  shortest_ = std::max<Tick>(1, static_cast<Tick>(std::ceil(first_ - 1e-6)));
}

double Loudness::energy_of(double power, double hz) {
  return power * kReferenceHz / hz;
}

Tick Loudness::on_time(double power, double hz) const {
  const double energy = energy_of(power, hz);
  std::size_t row = 0;  // the last that is not above; without branches, which nobody could predict
  for (std::size_t step = kRows / 2; step > 0; step /= 2) row += step * (energies_[row + step] <= energy);
  const double low = energies_[row], high = energies_[row + 1];
  const double part = high > low ? std::clamp((energy - low) / (high - low), 0.0, 1.0) : 1.0;
  const double on = first_ + step_ * (static_cast<double>(row) + part);
  // Down, but never under a shortest on-time that is no whole tick.
  return std::max(static_cast<Tick>(std::floor(std::min(on, ticks_per_s_ / (2 * hz)) + 1e-6)), shortest_);
}

}  // namespace burstloom::weave_detail
