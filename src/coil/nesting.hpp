// A look at a profile's text before the TOML library sees it.
#pragma once

#include <string>
#include <string_view>

namespace burstloom {

/// Throws Error (bad_input) when a dotted key has more parts than any key of a profile could have. The
/// library limits the nesting of values but not of dotted keys, and destroys tables by recursion: a key of
/// half a million dots would exhaust the stack.
void require_shallow_keys(std::string_view text, const std::string& file);

}  // namespace burstloom
