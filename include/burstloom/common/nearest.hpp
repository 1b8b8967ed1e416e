// What a mistyped word was meant to be: commands, options, choices, keys, file names.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

/// Fewest insertions, deletions, replacements and swaps of neighbours that turn one text into the other.
[[nodiscard]] std::size_t edit_distance(std::string_view one, std::string_view other);

/// The one of `known` that `name` was most likely meant to be, whatever the case of its letters: at most
/// three slips away and fewer than half its letters wrong. Empty when nothing is near.
[[nodiscard]] std::string nearest(std::string_view name, const std::vector<std::string>& known);

/// "did you mean X?", or `otherwise` where nothing is near.
[[nodiscard]] std::string did_you_mean(std::string_view name, const std::vector<std::string>& known,
                                       const std::string& otherwise);

}  // namespace burstloom
