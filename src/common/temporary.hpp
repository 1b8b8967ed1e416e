// What is not finished yet stands beside its place, under a name of its own.
#pragma once

#include <functional>
#include <string>

#include "burstloom/common/error.hpp"

namespace burstloom {

[[nodiscard]] Error unwritten(const std::string& path, const char* what, int reason);
[[nodiscard]] Error unplaced(const std::string& path, int reason);

/// Makes a new file to write. Below zero, and errno, where anything has that name, be it a link to nowhere.
[[nodiscard]] int new_file(const char* name);

/// "NAME.part123": the first such name beside `target` under which `make` makes something; it answers as
/// `new_file` does. Throws Error (machine).
[[nodiscard]] std::string made_beside(const std::string& target, const std::function<int(const char*)>& make);

}  // namespace burstloom
