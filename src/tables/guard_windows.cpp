#include "guard_windows.hpp"

#include <algorithm>
#include <limits>

#include "burstloom/common/error.hpp"
#include "rounding.hpp"
#include "words.hpp"

namespace burstloom::table_detail {
namespace {

constexpr double kWantedFactor = 1.25;
constexpr std::size_t kMostWindows = 8;
/// Three of them still lie within half a turn of the player's clock.
constexpr Tick kLongestWindow = Tick{1} << 29;
constexpr std::int64_t kSlotBytes = 4, kWindowBytes = 32;  // as player/guard.h has them, on the widest chip

// Most that any `span` ticks can hold of bursts that cost `cost` each and start at least `period` apart.
Tick densest(Tick span, Tick cost, Tick period) {
  return span / period * cost + std::min(span % period, cost);
}

// The bound is derived in docs/reference/guard-on-chip.md.
double factor_of(const WindowLimit& limit, Tick slots, Tick cost, Tick period) {
  const Tick slot = limit.window / slots, left_over = limit.window % slots;
  const Tick excess = std::max(densest((slot + left_over) / 2, cost, period),
                               std::min(left_over, 2 * densest(left_over, cost, period)));
  return 1 + static_cast<double>(excess) / static_cast<double>(std::max<Tick>(limit.allowance, 1));
}

GuardWindow cut_into_slots(const WindowLimit& limit, Tick cost, Tick period, Tick least_slot,
                           Tick most_slots) {
  GuardWindow best{limit, 1, limit.window, std::numeric_limits<double>::infinity()};
  for (Tick slots = 1; slots <= most_slots; ++slots) {
    // A burst reaches into one more slot at most; what is left over of the window is less than a slot.
    if (slots > 1 && limit.window / slots < std::max({cost, slots, least_slot})) break;
    const double factor = factor_of(limit, slots, cost, period);
    if (factor < best.factor) best = {limit, slots, limit.window / slots, factor};
    if (factor <= kWantedFactor) break;
  }
  return best;
}

}  // namespace

std::vector<WindowLimit> window_limits(const Profile& profile, const Target& target) {
  const double per_us = static_cast<double>(target.tick_hz) / 1e6;
  const double clock = profile.drive.clock_tolerance_percent / 100, slow = 1 + clock, fast = 1 - clock;
  std::vector<WindowLimit> limits;
  for (const DutyLimit& duty : profile.limits.duty) {
    const double window = duty.window_ms * 1000 * per_us;
    limits.push_back({number(duty.window_ms) + " ms: " + number(duty.percent) + " %", up(window / fast),
                      down(window * duty.percent / 100 / slow), false});
  }
  if (profile.limits.break_rate_hz && target.guard_counts_starts)
    limits.push_back({"100 ms: " + number(*profile.limits.break_rate_hz / 10) + " starts",
                      up(1e5 * per_us / fast), down(*profile.limits.break_rate_hz / 10), true});
  return limits;
}

std::vector<GuardWindow> guard_windows(const std::vector<WindowLimit>& limits, const BurstBounds& bounds,
                                       std::int64_t ram_bytes) {
  const auto cost = [&](const WindowLimit& limit) { return limit.counts_starts ? 1 : bounds.longest; };
  const auto period = [&](const WindowLimit& limit) {
    return (limit.counts_starts ? bounds.shortest : bounds.longest) + bounds.rest;
  };
  std::vector<WindowLimit> needed;
  std::copy_if(limits.begin(), limits.end(), std::back_inserter(needed), [&](const WindowLimit& limit) {
    return densest(limit.window, cost(limit), period(limit)) > limit.allowance;
  });
  std::int64_t slots_left = ram_bytes / kSlotBytes;
  auto windows_left = static_cast<std::int64_t>(needed.size());
  std::vector<GuardWindow> windows;
  for (const WindowLimit& limit : needed) {
    windows.push_back(cut_into_slots(limit, cost(limit), period(limit), bounds.least_slot,
                                     std::max<Tick>(1, slots_left / windows_left--)));
    slots_left -= windows.back().slots;
  }
  return windows;
}

void require_keepable(const std::vector<GuardWindow>& windows, std::int64_t tick_hz) {
  if (windows.size() > kMostWindows)
    throw Error(Fault::outside_limits,
                "the profile has " + std::to_string(windows.size()) +
                    " windows of duty and break rate, but the player keeps at most " +
                    std::to_string(kMostWindows),
                "", "leave out those that others keep already");
  for (const GuardWindow& window : windows)
    if (window.limit.window > kLongestWindow)
      throw Error(
          Fault::outside_limits,
          "the player cannot keep the limit " + window.limit.name + ": the window is too long for its clock",
          "",
          "give windows under " +
              number(std::floor(static_cast<double>(kLongestWindow) / static_cast<double>(tick_hz))) +
              " s in the profile");
}

std::int64_t guard_ram(const std::vector<GuardWindow>& windows) {
  std::int64_t bytes = 0;
  for (const GuardWindow& window : windows) bytes += window.slots * kSlotBytes + kWindowBytes;
  return bytes;
}

std::int64_t guard_flash(const std::vector<GuardWindow>& windows) {
  return static_cast<std::int64_t>(windows.size()) * kWindowBytes;
}

}  // namespace burstloom::table_detail
