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

/// Whether no window of `window` ticks holds more than `most` of what `weight_of(item)` counts, by a look
/// that is too strict by some bursts at either end: false says nothing. Sums are kept for blocks of bursts,
/// and a block stays in the window until its last burst has left.
template <class Sum, class WeightOf>
[[nodiscard]] bool surely_hold(const std::vector<Item>& items, Tick window, Sum most, WeightOf weight_of) {
  constexpr std::size_t kBlock = 8;
  struct Block {
    Tick end = 0;
    Sum sum = 0;
  };
  std::vector<Block> blocks;
  blocks.reserve(items.size() / kBlock + 1);
  Sum inside = 0;
  std::size_t oldest = 0;
  for (std::size_t first = 0; first < items.size(); first += kBlock) {
    Block block;
    for (std::size_t i = first; i < std::min(first + kBlock, items.size()); ++i) {
      block.end = std::max(block.end, items[i].end());
      block.sum += weight_of(items[i]);
    }
    blocks.push_back(block);
    inside += block.sum;
    for (; blocks[oldest].end <= items[first].start - window; ++oldest) inside -= blocks[oldest].sum;
    if (inside > most) return false;
  }
  return true;
}

[[nodiscard]] inline bool holds(const std::vector<Item>& items, const DutyBudget& budget) {
  if (surely_hold(items, budget.window, budget.allowance, [](const Item& item) { return item.on; }))
    return true;
  bool held = true;
  for_each_window(items, budget.window, [&](const Span& span) { held &= span.content <= budget.allowance; });
  return held;
}

}  // namespace burstloom::guard_detail
