// One burst as an entry of a table of pairs (docs/reference/table-format.md), which is also what goes over a
// serial link.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// Appends twice the gap after `before` (a burst at 0 of no length for the first one), plus one when the
/// on-time follows because it is another than before, in LEB128.
void append_pair_entry(std::vector<std::uint8_t>& out, const Burst& burst, const Burst& before);

}  // namespace burstloom
