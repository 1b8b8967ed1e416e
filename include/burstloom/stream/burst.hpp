// A burst and the stream of all bursts of a song, in integer ticks (design: "quantise once, then be exact").
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace burstloom {

/// A moment or a length in ticks of 1 / tick_hz seconds. Signed, so that differences are plain subtractions.
using Tick = std::int64_t;

/// Ticks a second unless a target asks for another rate: half a microsecond a tick.
inline constexpr std::int64_t kDefaultTickHz = 2'000'000;
/// Rates that streams may have: a tick between 10 ns and 1 ms.
inline constexpr std::int64_t kLowestTickHz = 1'000;
inline constexpr std::int64_t kHighestTickHz = 100'000'000;
/// No moment lies at or past this tick (about 130 days at 100 MHz); sums over a stream stay far from overflow.
inline constexpr Tick kEndOfTime = Tick{1} << 50;

/// One interval during which the gate driver is enabled: [start, start + on).
struct Burst {
  Tick start = 0;
  Tick on = 0;

  [[nodiscard]] constexpr Tick end() const { return start + on; }
  friend bool operator==(const Burst&, const Burst&) = default;
};

/// All bursts of a song. Invariant (see `require_in_order`): 0 <= start, on >= 1, each start at or after the end
/// of the burst before, last end <= length < kEndOfTime.
struct BurstStream {
  std::int64_t tick_hz = kDefaultTickHz;
  Tick length = 0;  ///< of the song, its closing silence included
  std::vector<Burst> bursts;

  [[nodiscard]] double seconds(Tick t) const { return static_cast<double>(t) / static_cast<double>(tick_hz); }
  [[nodiscard]] double microseconds(Tick t) const { return seconds(t) * 1e6; }
  friend bool operator==(const BurstStream&, const BurstStream&) = default;
};

/// Throws Error (bad_input, naming `where` and the burst's number and time) unless the stream keeps its invariant.
void require_in_order(const BurstStream& stream, const std::string& where);

/// The part of the stream between two moments, moved so that `from` becomes tick 0. Only whole bursts: one that
/// starts before `from` or ends after `until` is left out. 0 <= from <= until.
[[nodiscard]] BurstStream excerpt(const BurstStream& stream, Tick from, Tick until);

/// `seconds` as ticks to the nearest; the one place where music's time becomes a stream's time. Throws Error
/// (bad_input) when that lies outside of -kEndOfTime..kEndOfTime or is not a number.
[[nodiscard]] Tick nearest_tick(double seconds, std::int64_t tick_hz);

}  // namespace burstloom
