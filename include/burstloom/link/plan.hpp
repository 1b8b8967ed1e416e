// A stream cut into the pieces that go into frames, and how fast a line they want.
#pragma once

#include "burstloom/common/files.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Something is sent at least this often: the player takes 80 ms of silence for a lost link.
inline constexpr double kAliveEvery_s = 0.02;

/// What one frame of bursts carries: whole entries only.
struct Piece {
  std::size_t begin = 0, end = 0;  ///< bytes of `SendPlan::data`
  std::size_t first_burst = 0;
};

/// The stream's entries as in a pulse table (docs/reference/table-format.md), and their pieces. The last
/// piece is empty: it says that the song ends.
struct SendPlan {
  Bytes data;
  std::vector<Piece> pieces;
};

/// For a stream in order, gaps under 2^30 ticks and on-times under 2^16.
[[nodiscard]] SendPlan plan_of(const BurstStream& stream);

/// The slowest line, in baud (ten bits a byte), that brings each tenth of a second of the stream within a
/// tenth of a second, frames and keep-alives included. The player's buffer evens out what is shorter.
[[nodiscard]] std::int64_t needed_baud(const SendPlan& plan, const BurstStream& stream);

}  // namespace burstloom
