// The data of a voice table (docs/table-format.md): what the voices want, and where the stream is not what
// the weaver makes of it.
#pragma once

#include <optional>

#include "burstloom/common/files.hpp"
#include "encode.hpp"
#include "wishes.hpp"

namespace burstloom::table_detail {

/// A whole voice table, and what reading it asks of a player.
struct VoiceTable {
  Bytes bytes;  ///< header and CRC-32 included
  int voices = 0;
  std::vector<bool> tells_after;  ///< for each wish: whether its voice has to be told how it goes on
};

/// The voice table that gives the stream to the tick; the smallest of those that differ in the weaver's ways.
/// Nothing where the stream cannot be said like this: more than 17 voices, on-times over 65 535 ticks, or
/// rests and rows of dropped bursts longer than a player allows.
[[nodiscard]] std::optional<VoiceTable> voice_table(const BurstStream& stream,
                                                    const std::vector<Wish>& wishes,
                                                    const CompiledLimits& limits);

}  // namespace burstloom::table_detail
