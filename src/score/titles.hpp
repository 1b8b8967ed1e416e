// Whether a track's name is a title at all.
#pragma once

#include <string>

namespace burstloom {

/// True for names that programs give where nobody gave one: "Track 01", "untitled", blanks.
[[nodiscard]] bool is_placeholder(const std::string& title);

}  // namespace burstloom
