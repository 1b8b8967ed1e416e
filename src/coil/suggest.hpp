// What a misspelt key was meant to be.
#pragma once

#include <string>
#include <string_view>

namespace burstloom {

/// The path of the key that `name`, found inside the table `parent`, was most likely meant to be: a near name
/// in the same table, else the same name in another table. Empty when nothing is near.
[[nodiscard]] std::string nearest_key(std::string_view parent, std::string_view name);

}  // namespace burstloom
