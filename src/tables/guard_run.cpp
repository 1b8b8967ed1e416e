#include "guard_run.hpp"

extern "C" {
#include "guard.h"
}

namespace burstloom::table_detail {

std::optional<std::size_t> first_refused(const BurstStream& stream, const CompiledLimits& limits) {
  const auto word = [](Tick ticks) { return static_cast<std::uint32_t>(ticks); };
  std::vector<guard_window> windows;
  std::uint16_t slots = 0;
  for (const GuardWindow& window : limits.windows) {
    const auto count = static_cast<std::uint16_t>(window.slots);
    windows.push_back({word(window.slot_ticks), word(window.limit.allowance), word(window.forget_ticks()),
                       count, slots, static_cast<std::uint8_t>(window.limit.counts_starts ? 1 : 0)});
    slots = static_cast<std::uint16_t>(slots + count);
  }
  const guard_limits compiled{windows.data(),
                              word(limits.gap_min),
                              word(limits.memory()),
                              static_cast<std::uint16_t>(limits.on_max),
                              static_cast<std::uint16_t>(limits.stretch),
                              slots,
                              static_cast<std::uint8_t>(windows.size())};
  std::vector<guard_tally> tallies(windows.size());
  std::vector<std::uint32_t> memory(slots);
  guard guard{tallies.data(), memory.data(), 0, 1};
  guard_begin(&compiled, &guard);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const Burst& burst = stream.bursts[i];
    const auto on = static_cast<std::uint16_t>(burst.on);
    if (guard_grant(&compiled, &guard, word(burst.start), on) != burst.on) return i;
  }
  return std::nullopt;
}

}  // namespace burstloom::table_detail
