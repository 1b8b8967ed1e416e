// A look at TOML text before the library sees it.
#pragma once

#include <string>
#include <string_view>

namespace burstloom {

/// Throws Error (bad_input) where a key has more dots, or brackets and braces are nested more deeply, than
/// any file of Burstloom needs. The library parses and destroys by recursion: a key of 100 000 dots would
/// exhaust the stack. Strings and comments are skipped (TOML 1.0, "Comment" and "String").
void require_shallow(std::string_view text, const std::string& file);

}  // namespace burstloom
