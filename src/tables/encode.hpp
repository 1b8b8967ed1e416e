// A stream as the bytes of a pulse table (docs/reference/table-format.md), and the limits that go into the
// player.
#pragma once

#include "burstloom/common/files.hpp"
#include "burstloom/tables/tables.hpp"
#include "guard_windows.hpp"

namespace burstloom::table_detail {

inline constexpr std::uint8_t kTableVersion = 1;
inline constexpr std::size_t kTableHeaderBytes = 36;
/// The player's clock has 32 bits: a longer rest would look like the past to it.
inline constexpr Tick kLongestGapTicks = (Tick{1} << 30) - 1;

/// What the player enforces, whatever its table says.
struct CompiledLimits {
  Tick on_max = 0, gap_min = 0;  ///< ticks of the stream
  Tick stretch = 0;              ///< what the gate adds to each burst
  std::int64_t rest_ms = 0;
  std::vector<GuardWindow> windows{};  ///< those that on-time and gap do not keep by themselves
  /// After so long nothing that was played matters to the guard.
  [[nodiscard]] Tick memory() const;
};

/// `player_limits` of the input, never wider than what the target can do.
[[nodiscard]] CompiledLimits compiled_limits(const TableInput& input, const Target& target);

/// The shortest gap that `target` can follow, its guard's work included, ticks.
[[nodiscard]] Tick shortest_gap(const Target& target, const CompiledLimits& limits);
/// The limits as definitions of a C header, the guard's windows among them.
[[nodiscard]] std::string limit_definitions(const CompiledLimits& limits);

/// Throws Error unless `target` can play the stream inside the compiled limits: usage (another tick rate),
/// bad_input (out of order), outside_limits (naming burst, time, value, what is possible and what to change,
/// or the window that the player's guard cannot keep). The guard itself is run over the stream.
void require_playable(const TableInput& input, const Target& target, const CompiledLimits& limits);

/// What the player takes for tables of so many voices, 0 for pairs.
struct PlayerSize {
  std::int64_t flash_bytes = 0, ram_bytes = 0;
};
[[nodiscard]] PlayerSize player_size(const Target& target, const CompiledLimits& limits, int voices);

/// The bursts as pairs of gap and on-time.
[[nodiscard]] Bytes pair_data(const BurstStream& stream);

/// Header, CRC-32 and `data` in one piece.
[[nodiscard]] Bytes finished_table(Encoding encoding, const Bytes& data, const BurstStream& stream,
                                   const CompiledLimits& limits);
/// The same for data that is no stream's: `count` entries.
[[nodiscard]] Bytes finished_table(Encoding encoding, const Bytes& data, std::int64_t tick_hz,
                                   std::size_t count, const CompiledLimits& limits);

/// A number of four bytes.
void append_word(Bytes& bytes, std::int64_t value);

}  // namespace burstloom::table_detail
