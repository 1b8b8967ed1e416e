// One voice's bursts as stretches that a player's weaver goes through by itself
// (firmware-out/player/weaver.h).
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom::table_detail {

/// Ticks with 32 fractional bits.
using FinePeriod = std::int64_t;

/// What a stretch says of the trains: from burst `first` on, periods anywhere in [low, high] give every start
/// to the tick.
struct TrainRun {
  std::size_t first = 0;
  std::optional<Tick> delay{};  ///< of its first burst after the one before (the song's start); else a period
  bool has_period = false;
  FinePeriod low = 0, high = 0;
};

/// From burst `first` on, `on` fading by `fade` (weaver.h) gives every on-time.
struct OnRun {
  std::size_t first = 0;
  std::uint16_t on = 0;
  std::int8_t fade = 0;
};

/// Runs that give these starts (in order) exactly: each as long as it can be, a period where it serves for
/// three bursts or more.
[[nodiscard]] std::vector<TrainRun> train_runs(const std::vector<Tick>& starts);
/// The fewest runs that give these on-times (1 to 65535) exactly; nothing where any will do.
[[nodiscard]] std::vector<OnRun> on_runs(const std::vector<std::optional<std::uint16_t>>& ons);

}  // namespace burstloom::table_detail
