// A built set as set.json has it: every member under its own name. docs/reference/sets.md describes it.
#pragma once

#include <string>
#include <string_view>

#include "burstloom/sets/built_set.hpp"

namespace burstloom {

/// The file's text. Broken UTF-8 in names is replaced.
[[nodiscard]] std::string to_set_json(const BuiltSet& set);

/// Throws Error (bad_input, naming `name`) for what is no set.json of this version.
[[nodiscard]] BuiltSet from_set_json(std::string_view text, const std::string& name);
/// From a set's folder or its set.json. Throws Error (bad_input).
[[nodiscard]] BuiltSet read_built_set(const std::string& path);

}  // namespace burstloom
