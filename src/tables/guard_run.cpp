#include "guard_run.hpp"

#include <algorithm>

namespace burstloom::table_detail {
namespace {

std::uint32_t word(Tick ticks) {
  return static_cast<std::uint32_t>(ticks);
}
std::uint16_t half_word(Tick ticks) {
  return static_cast<std::uint16_t>(std::min<Tick>(ticks, 65'535));
}

}  // namespace

GuardRun::GuardRun(const CompiledLimits& limits) {
  Tick slots = 0;
  for (const GuardWindow& window : limits.windows) {
    windows_.push_back({word(window.slot_ticks), word(window.limit.allowance), word(window.forget_ticks()),
                        half_word(window.slots), half_word(slots),
                        static_cast<std::uint8_t>(window.limit.counts_starts ? 1 : 0), 0, 0, 0});
    slots += window.slots;
  }
  slots_.resize(static_cast<std::size_t>(slots));
  guard_ = {windows_.data(),
            slots_.data(),
            word(limits.gap_min),
            word(limits.memory()),
            half_word(limits.on_max),
            half_word(limits.stretch),
            half_word(slots),
            static_cast<std::uint8_t>(windows_.size()),
            1,
            0};
  guard_begin(&guard_);
}

Tick GuardRun::ask(const Burst& burst) {
  return guard_grant(&guard_, word(burst.start), half_word(burst.on));
}

void GuardRun::rest(Tick now) {
  guard_rest(&guard_, word(now));
}

std::optional<std::size_t> first_refused(const BurstStream& stream, const CompiledLimits& limits) {
  GuardRun guard(limits);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i)
    if (guard.ask(stream.bursts[i]) != stream.bursts[i].on) return i;
  return std::nullopt;
}

}  // namespace burstloom::table_detail
