#include <algorithm>

#include "gains.hpp"
#include "windows.hpp"

namespace burstloom::guard_detail {
namespace {

// What is left of the on-times above the shortest when a window's content is brought down to its allowance.
Gain gain_for(const Span& span, Tick on_min, Tick allowance) {
  if (span.content <= allowance) return kUnchanged;
  const Tick shortest = std::min(span.content, static_cast<Tick>(span.last - span.oldest + 1) * on_min);
  if (allowance <= shortest) return 0;
  return static_cast<Gain>(static_cast<double>(allowance - shortest) /
                           static_cast<double>(span.content - shortest) * static_cast<double>(kUnchanged));
}

void turn_down_for(std::vector<Item>& items, const DutyBudget& budget, Tick on_min, Causes cause) {
  std::vector<Asked> asked;
  for_each_window(items, budget.window, [&](const Span& span) {
    if (span.content > budget.allowance)
      asked.push_back({span.oldest, span.last, gain_for(span, on_min, budget.allowance)});
  });
  const auto gains = smooth(items, least_gains(items.size(), asked), budget.window / 2);
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
