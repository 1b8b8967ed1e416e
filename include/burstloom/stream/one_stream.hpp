// Songs and pauses as one stream.
#pragma once

#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Streams of one tick rate one after the other, each followed by its pause; the last one's is left out. Throws
/// Error (usage) for a whole that is longer than streams can be.
[[nodiscard]] BurstStream one_stream(const std::vector<const BurstStream*>& streams,
                                     const std::vector<Tick>& pauses);

}  // namespace burstloom
