// Pages made from a built set: one to look at, one to print. Both are whole in themselves and ask nothing of
// any network; names in them are text, whatever they hold.
#pragma once

#include <optional>
#include <string>

#include "burstloom/sets/built_set.hpp"

namespace burstloom {

/// The report on the evening: songs, the heat's curve, bus, limits, the plan. It carries set.json, and shows
/// no other figures. Links to the songs' previews are relative to the set's folder.
[[nodiscard]] std::string evening_page(const BuiltSet& set);

struct SheetOptions {
  std::optional<int>
      starts_at_min{};  ///< the first song's time of day, minutes from 0:00; nothing: left blank
};

/// The operator's sheet, for A4 or Letter: order, times, pauses, temperatures to expect, when to stop,
/// limits, cautions, room for notes. HTML without scripts. Throws Error (bad_input) when the set's profile
/// does not parse.
[[nodiscard]] std::string operators_sheet(const BuiltSet& set, const SheetOptions& options = {});

}  // namespace burstloom
