#include "live_heat.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::guard_detail {

LiveHeat::LiveHeat(const Burdens& limits, Tick on_min)
    : limits_(limits), state_(limits.heat()->network()), on_min_(on_min) {}

void LiveHeat::spare_the_sink(Item& item) const {
  constexpr double kBand = 0.1;  // of the allowed rise
  const double limit_c = limits_.heatsink_limit_c();
  if (!std::isfinite(limit_c)) return;
  const double rise = limit_c - limits_.heat()->network().ambient_c();
  const double left = (limit_c - state_.sink_c()) / (kBand * rise);
  if (left >= 1 || item.on <= on_min_) return;
  const std::vector<double>& losses = limits_.losses();
  const double most = losses[static_cast<std::size_t>(item.on)] * std::max(0.0, left);
  item.on = longest_within(losses, most, on_min_, item.on);
  item.causes |= bit(Cause::heatsink);
}

void LiveHeat::make(Item& item) {
  limits_.keep_cool(state_, item.start - end_, item);
  if (!item.dropped()) end_ = item.end();
}

LiveHeat::Temperatures LiveHeat::at(Tick now) const {
  Thermal state = state_;
  state.gap(std::max<Tick>(0, now - end_));
  return {state.junction_c(), state.sink_c()};
}

}  // namespace burstloom::guard_detail
