// The guard: wanted bursts in, a stream inside the limits out, and a ledger of what that cost the music.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/account.hpp"
#include "burstloom/stream/burst.hpp"
#include "burstloom/stream/wanted.hpp"

namespace burstloom {

/// The limit that asked for a change; duty windows follow from `duty` on, one bit each.
enum class Cause : std::uint8_t {
  on_time_min,
  on_time_max,
  peak_current,
  tank_voltage,
  switch_voltage,
  gap,
  break_rate,
  time_range,
  supply,
  tank_current,
  junction,
  heatsink,
  duty
};
using Causes = std::uint32_t;
[[nodiscard]] constexpr Causes bit(Cause cause, std::size_t window = 0) {
  return Causes{1} << (static_cast<unsigned>(cause) + static_cast<unsigned>(window));
}
/// At most this many duty windows have a bit of their own; a profile with more is refused by `parse_profile`.
inline constexpr std::size_t kMostDutyWindows = 16;

/// One wanted burst that did not come out as it was wanted.
struct LedgerEntry {
  std::uint32_t wanted = 0;  ///< its index among the wanted bursts
  std::uint32_t note = 0;
  Tick wanted_start = 0, wanted_on = 0;
  Tick start = 0, on = 0;  ///< as played; both 0 when dropped
  Fate fate = Fate::kept;
  Causes causes = 0;                                            ///< every limit that had a part in it
  bool lengthened = false, shortened = false, shifted = false;  ///< all that happened, also before a drop
};

/// What the limits cost: wanted = kept + lengthened + shortened + shifted + dropped.
struct Ledger {
  std::int64_t wanted = 0;
  std::array<std::int64_t, kFates> count{};
  std::vector<LedgerEntry> entries;  ///< all but the kept, in order of `wanted`

  [[nodiscard]] std::int64_t operator[](Fate fate) const { return count[static_cast<std::size_t>(fate)]; }
};

/// The names of the limits in `causes`, in the words of `check` ("duty 10 ms"), joined by commas.
[[nodiscard]] std::string names_of(Causes causes, const Limits& limits);

/// The name of each bit that `Causes` may have for these limits, in order: an account's `limits`.
[[nodiscard]] std::vector<std::string> limit_names(const Limits& limits);

struct Guarded {
  BurstStream stream;
  Ledger ledger;
  std::vector<std::uint32_t>
      wanted_of;  ///< for each burst of the stream, the index of the wanted burst it was
};

/// How bursts that want to sound at once find their places.
enum class Placing : std::uint8_t {
  ahead,  ///< with all that comes in view: moved as little as possible in all
  causal  ///< one after the other, as a player does on its own (firmware-out/player/weaver.h)
};

/// Brings `wanted` (any number, any order, any values) inside the profile's limits.
/// `length` is the song's length in ticks; the stream's is that, or longer when a burst ends after it.
/// Throws Error (usage) for a tick rate out of range, and for limits that causal placing cannot keep in
/// sight. For every input the result passes `check` with the same profile; that is tested with random inputs.
[[nodiscard]] Guarded place(const std::vector<WantedBurst>& wanted, const Profile& profile,
                            std::int64_t tick_hz, Tick length, Placing placing = Placing::ahead);

}  // namespace burstloom
