// The guard: wanted bursts in, a stream inside the limits out, and a ledger of what that cost the music.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
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
  Tick wanted_start = 0, wanted_on = 0;  ///< an on-time longer than 2^31 - 1 ticks is told as that
  Tick start = 0, on = 0;                ///< as played; both 0 when dropped
  Fate fate = Fate::kept;
  Causes causes = 0;                                            ///< every limit that had a part in it
  bool lengthened = false, shortened = false, shifted = false;  ///< all that happened, also before a drop
  std::uint16_t voice = 0;
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

/// A stream, and all that has to be known of what was wanted: the wanted bursts themselves need not be kept.
struct Guarded {
  BurstStream stream;
  Ledger ledger;
  /// For each burst of the stream: the index of the wanted burst it was, that one's note and its voice.
  std::vector<std::uint32_t> wanted_of, note_of;
  std::vector<std::uint16_t> voice_of;
};

/// One wanted burst as it is known afterwards.
struct Outcome {
  Tick wanted_start = 0, wanted_on = 0;
  std::uint32_t note = 0;
  std::uint16_t voice = 0;
  std::optional<std::uint32_t> burst;  ///< its index in the stream; none when dropped
  const LedgerEntry* entry = nullptr;  ///< none when kept as it was
};

/// Calls `tell` for every wanted burst, in the order in which they were wanted.
template <class Tell>
void for_each_outcome(const Guarded& guarded, Tell tell) {
  constexpr auto kNone = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> burst_of(static_cast<std::size_t>(guarded.ledger.wanted), kNone);
  for (std::size_t i = 0; i < guarded.wanted_of.size(); ++i)
    burst_of[guarded.wanted_of[i]] = static_cast<std::uint32_t>(i);
  auto entry = guarded.ledger.entries.begin();
  for (std::uint32_t wanted = 0; wanted < burst_of.size(); ++wanted) {
    const std::uint32_t i = burst_of[wanted];
    const auto burst = i == kNone ? std::nullopt : std::optional(i);
    if (entry != guarded.ledger.entries.end() && entry->wanted == wanted) {
      tell(Outcome{entry->wanted_start, entry->wanted_on, entry->note, entry->voice, burst, &*entry});
      ++entry;
    } else {
      const Burst& kept = guarded.stream.bursts[i];
      tell(Outcome{kept.start, kept.on, guarded.note_of[i], guarded.voice_of[i], burst, nullptr});
    }
  }
}

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
/// The same; of a long song in half the memory: `wanted` is given up as soon as it was read.
[[nodiscard]] Guarded place(std::vector<WantedBurst>&& wanted, const Profile& profile, std::int64_t tick_hz,
                            Tick length, Placing placing = Placing::ahead);

}  // namespace burstloom
