// Whether a chip is quick enough for a table.
#pragma once

#include "encode.hpp"
#include "wishes.hpp"

namespace burstloom::table_detail {

/// Whether `target` has read each burst of a table of so many voices and these wishes when it is due.
/// `tells_after` says of each wish whether its voice has to be told how it goes on.
[[nodiscard]] bool can_follow(const Target& target, const CompiledLimits& limits,
                              const std::vector<Wish>& wishes, int voices,
                              const std::vector<bool>& tells_after);

}  // namespace burstloom::table_detail
