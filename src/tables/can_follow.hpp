// Whether a chip is quick enough for a table.
#pragma once

#include "burstloom/tables/tables.hpp"
#include "voice_table.hpp"

namespace burstloom::table_detail {

/// Whether `target` has read each burst of a table of these wishes when it is due.
[[nodiscard]] bool can_follow(const Target& target, const std::vector<Wish>& wishes, const VoiceTable& table);

}  // namespace burstloom::table_detail
