#include "suggest.hpp"

#include <vector>

#include "burstloom/common/nearest.hpp"
#include "keys.hpp"

namespace burstloom {

std::string nearest_key(std::string_view parent, std::string_view name) {
  std::vector<std::string> here;
  std::string elsewhere;
  for (const Key& key : all_keys()) {
    const auto known = last_part_of(key.path);
    if (parent_of(key.path) == parent)
      here.emplace_back(known);
    else if (known == name && elsewhere.empty())
      elsewhere = key.path;
  }
  const std::string meant = nearest(name, here);
  return meant.empty() ? elsewhere : std::string(parent) + (parent.empty() ? "" : ".") + meant;
}

}  // namespace burstloom
