// Duty windows over items in order of time.
#pragma once

#include <algorithm>

#include "line.hpp"

namespace burstloom::guard_detail {

/// The items whose on-time lies, at least in part, in the window that ends where the last of them ends.
struct Span {
  std::size_t oldest = 0, last = 0;
  Tick content = 0;
};

/// Calls `each(span)` for the window that ends at each item's end, the oldest item cut where the window cuts
/// it. Exact for items that do not overlap (no window holds more than the fullest of these); for wanted
/// bursts that still overlap it is an estimate, good enough to turn a passage down before it is placed.
template <class Each>
void for_each_window(const std::vector<Item>& items, Tick window, Each each) {
  Tick whole = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < items.size(); ++i) {
    whole += items[i].on;
    const Tick from = items[i].end() - window;
    for (; oldest < i && items[oldest].end() <= from; ++oldest) whole -= items[oldest].on;
    each(Span{oldest, i, whole - std::clamp<Tick>(from - items[oldest].start, 0, items[oldest].on)});
  }
}

[[nodiscard]] inline bool holds(const std::vector<Item>& items, const DutyBudget& budget) {
  bool held = true;
  for_each_window(items, budget.window, [&](const Span& span) { held &= span.content <= budget.allowance; });
  return held;
}

}  // namespace burstloom::guard_detail
