#include <algorithm>
#include <deque>

#include "windows.hpp"

namespace burstloom::guard_detail {
namespace {

// A gain as a whole number of 2^-30: 1 leaves on-times as they are, 0 makes them the shortest.
using Gain = std::int64_t;
constexpr int kGainBits = 30;
constexpr Gain kUnchanged = Gain{1} << kGainBits;

// What is left of the on-times above the shortest when a window's content is brought down to its allowance.
Gain gain_for(const Span& span, Tick on_min, Tick allowance) {
  if (span.content <= allowance) return kUnchanged;
  const Tick shortest = std::min(span.content, static_cast<Tick>(span.last - span.oldest + 1) * on_min);
  if (allowance <= shortest) return 0;
  return static_cast<Gain>(static_cast<double>(allowance - shortest) /
                           static_cast<double>(span.content - shortest) * static_cast<double>(kUnchanged));
}

// For each item the least gain of all windows that hold a part of it.
std::vector<Gain> least_gain_of_windows(const std::vector<Item>& items, const DutyBudget& budget,
                                        Tick on_min) {
  struct Asked {
    std::size_t oldest, last;
    Gain gain;
  };
  std::vector<Gain> least(items.size(), kUnchanged);
  // Windows come in order of both ends, so those that hold item i are a sliding range: a queue with the least
  // gain in front. Windows end at or after the item, so items are settled from the last to the first.
  std::vector<Asked> asked;
  for_each_window(items, budget.window, [&](const Span& span) {
    if (span.content > budget.allowance)
      asked.push_back({span.oldest, span.last, gain_for(span, on_min, budget.allowance)});
  });
  std::deque<Asked> near;
  auto next = asked.rbegin();
  for (std::size_t i = items.size(); i-- > 0;) {
    for (; next != asked.rend() && next->last >= i; ++next) {
      while (!near.empty() && near.back().gain >= next->gain) near.pop_back();
      near.push_back(*next);
    }
    while (!near.empty() && near.front().oldest > i) near.pop_front();
    if (!near.empty()) least[i] = near.front().gain;
  }
  return least;
}

// The range of items whose start lies within `reach` of items[i].start, as a pair of sliding ends.
struct Neighbours {
  std::size_t first = 0, end = 0;
  void move_to(const std::vector<Item>& items, std::size_t i, Tick reach) {
    while (items[first].start < items[i].start - reach) ++first;
    while (end < items.size() && items[end].start <= items[i].start + reach) ++end;
  }
};

std::vector<Gain> least_nearby(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  std::vector<Gain> least(gains.size());
  std::deque<std::size_t> candidates;
  Neighbours near;
  for (std::size_t i = 0, taken = 0; i < items.size(); ++i) {
    near.move_to(items, i, reach);
    for (; taken < near.end; ++taken) {
      while (!candidates.empty() && gains[candidates.back()] >= gains[taken]) candidates.pop_back();
      candidates.push_back(taken);
    }
    while (candidates.front() < near.first) candidates.pop_front();
    least[i] = gains[candidates.front()];
  }
  return least;
}

std::vector<Gain> mean_nearby(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  std::vector<Gain> mean(gains.size());
  Gain sum = 0;
  Neighbours near;
  for (std::size_t i = 0, added = 0, removed = 0; i < items.size(); ++i) {
    near.move_to(items, i, reach);
    for (; added < near.end; ++added) sum += gains[added];
    for (; removed < near.first; ++removed) sum -= gains[removed];
    mean[i] = sum / static_cast<Gain>(near.end - near.first);
  }
  return mean;
}

// Least within reach, then the mean within reach: no item's mean is above what its own windows ask for, and
// the gain begins to fall before the loud passage and has no step (the classic look-ahead limiter).
std::vector<Gain> smooth(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  return mean_nearby(items, least_nearby(items, gains, reach), reach);
}

void turn_down_for(std::vector<Item>& items, const DutyBudget& budget, Tick on_min, Causes cause) {
  const auto gains = smooth(items, least_gain_of_windows(items, budget, on_min), budget.window / 2);
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (gains[i] >= kUnchanged || items[i].on <= on_min) continue;
    items[i].on = on_min + (((items[i].on - on_min) * (gains[i] >> 10)) >> (kGainBits - 10));
    items[i].causes |= cause;
  }
}

}  // namespace

void turn_down(Line& line, const GateLimits& limits) {
  // Shorter bursts end earlier, so a window that held exactly reaches back a little further than before: a
  // second and third round take the last ticks off.
  constexpr int kRounds = 4;
  for (std::size_t i = 0; i < limits.duty.size(); ++i)
    for (int round = 0; round < kRounds && !holds(line.items, limits.duty[i]); ++round)
      turn_down_for(line.items, limits.duty[i], limits.on_min, bit(Cause::duty, i));
}

}  // namespace burstloom::guard_detail
