#include "energy_window.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::guard_detail {

EnergyWindow::EnergyWindow(const Burdens::Window& window, std::size_t capacity, Tick on_min)
    : made_(window.window, capacity),
      bucket_(kHeadroom * kWhole, static_cast<double>(window.window)),
      on_min_(on_min),
      cause_(window.cause) {
  const bool allows_any = std::isfinite(window.most) && window.most > 0;
  for (const double weight : window.weight_of)
    parts_.push_back(static_cast<std::int64_t>(
        allows_any ? std::min(std::ceil(weight / window.most * kWhole), 2 * kWhole) : 2 * kWhole));
}

double EnergyWindow::gain(std::span<const VoiceLoad> loads, Tick now) {
  bucket_.advance_to(now);
  const double most = bucket_.allowed_rate();
  if (rate(loads, 1) <= most) return 1;
  double low = 0, high = 1;
  for (int i = 0; i < 10; ++i) {
    const double middle = (low + high) / 2;
    (rate(loads, middle) <= most ? low : high) = middle;
  }
  return low;
}

// What the voices take per tick when they are turned down by `gain`.
double EnergyWindow::rate(std::span<const VoiceLoad> loads, double gain) const {
  double sum = 0;
  for (const VoiceLoad& load : loads) {
    const double on_min = std::min(static_cast<double>(on_min_), load.on);
    const auto on = static_cast<Tick>(on_min + gain * (load.on - on_min));
    sum += load.kept / load.period * static_cast<double>(part(on));
  }
  return sum;
}

Tick EnergyWindow::longest(Tick start, Tick on) {
  made_.look_from(start);
  const std::int64_t room = static_cast<std::int64_t>(kWhole) - made_.sum();
  if (part(on) <= room) return on;
  const auto first = parts_.begin() + on_min_, last = parts_.begin() + on + 1;
  return on_min_ + (std::upper_bound(first, last, room) - first) - 1;
}

void EnergyWindow::add(Tick start, Tick on) {
  made_.add(start, part(on));
  bucket_.take(static_cast<double>(part(on)));
}

}  // namespace burstloom::guard_detail
