// A stream as the bytes of a pulse table (docs/table-format.md), and the limits that go into the player.
#pragma once

#include "burstloom/common/files.hpp"
#include "burstloom/tables/tables.hpp"

namespace burstloom::table_detail {

inline constexpr std::uint8_t kTableVersion = 1;
inline constexpr std::uint8_t kEncodingPairs = 0;
inline constexpr std::size_t kTableHeaderBytes = 36;
/// The player's clock has 32 bits: a longer rest would look like the past to it.
inline constexpr Tick kLongestGapTicks = (Tick{1} << 30) - 1;

using CompiledLimits = PlayerLimits;

/// `player_limits` of the input, never wider than what the target can do.
[[nodiscard]] CompiledLimits compiled_limits(const TableInput& input, const Target& target);

/// The limits as definitions of a C header.
[[nodiscard]] std::string limit_definitions(const CompiledLimits& limits);

/// Throws Error unless `target` can play the stream inside the compiled limits: usage (another tick rate),
/// bad_input (out of order), outside_limits (naming burst, time, value, what is possible and what to change).
void require_playable(const TableInput& input, const Target& target, const CompiledLimits& limits);

/// The whole table, CRC-32 included, of a playable stream.
[[nodiscard]] Bytes table_bytes(const BurstStream& stream, const CompiledLimits& limits);

/// Where each burst's entry ends in the table: what an excerpt up to that burst would take.
[[nodiscard]] std::vector<std::int64_t> bytes_until_burst(const BurstStream& stream);

}  // namespace burstloom::table_detail
