// What the guard on the chip keeps of a profile's windows (docs/reference/guard-on-chip.md): how each is cut
// into slots, and how far past its allowance anything could get that a damaged table asks for.
#pragma once

#include <string>
#include <vector>

#include "burstloom/tables/tables.hpp"

namespace burstloom::table_detail {

/// One of the profile's windows as the judge counts it, in ticks or starts.
struct WindowLimit {
  std::string name;  ///< "10 ms: 20 %"
  Tick window = 1, allowance = 0;
  bool counts_starts = false;
};

/// The same in slots.
struct GuardWindow {
  WindowLimit limit;
  Tick slots = 1, slot_ticks = 1;
  [[nodiscard]] Tick forget_ticks() const { return (slots + 2) * slot_ticks; }  ///< after so long all is past
  double factor = 1;  ///< no window of that length anywhere holds more than this times the allowance
};

/// What bursts of any kind keep: at most `longest` ticks (the stretch included) each, one start at most in
/// `longest + rest` and in `shortest + rest`.
struct BurstBounds {
  Tick longest = 1, shortest = 1, rest = 0;
  Tick least_slot = 1;  ///< shorter slots would take the player too much of its time
};

/// The profile's duty windows and, where the target's guard counts starts, its break rate; in its ticks,
/// rounded as the judge rounds them (a window up, its allowance down, the clock's tolerance given its room).
[[nodiscard]] std::vector<WindowLimit> window_limits(const Profile& profile, const Target& target);

/// Cuts the windows that `bounds` alone do not keep already into slots, within `ram_bytes`: as few as bring
/// the factor to 1.25, or what comes nearest.
[[nodiscard]] std::vector<GuardWindow> guard_windows(const std::vector<WindowLimit>& limits,
                                                     const BurstBounds& bounds, std::int64_t ram_bytes);

/// Throws Error (outside_limits) for a window that is longer than the player counts, or more windows than it
/// keeps.
void require_keepable(const std::vector<GuardWindow>& windows, std::int64_t tick_hz);

/// RAM and flash that they take beside the player's own, in bytes.
[[nodiscard]] std::int64_t guard_ram(const std::vector<GuardWindow>& windows);
[[nodiscard]] std::int64_t guard_flash(const std::vector<GuardWindow>& windows);

}  // namespace burstloom::table_detail
