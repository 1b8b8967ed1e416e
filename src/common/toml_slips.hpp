// What people write in TOML that is none, and what they meant.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace burstloom {

struct TomlSlip {
  std::string what, what_to_do;
};

/// The usual slip in a line that the parser refused; nothing where it is none of those.
[[nodiscard]] std::optional<TomlSlip> slip_in(std::string_view line);

}  // namespace burstloom
