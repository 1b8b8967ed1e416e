// The profile that `coil new` writes, from the declarations of the keys.
#include <algorithm>

#include "burstloom/coil/profile.hpp"
#include "keys.hpp"

namespace burstloom {
namespace {

const char* const kTop =
    "# A Burstloom coil profile. Write a value wherever a ? stands; all that stands behind a # may wait.\n"
    "# What a key means and how to measure it: docs/reference/coil-profile.md.\n"
    "# High voltage, RF burns, ozone, noise, fire; dangerous to people with implants; bus capacitors stay "
    "charged.\n"
    "# Follow local codes, let licensed people work on mains. A prediction is no permission.\n\n";

const char* const kLimits =
    "# Begin with small limits; widen one only by what you have measured (docs/reference/choosing-limits.md).\n";

const char* const kRest =
    "\n# ---- From here on all may wait: it lets current, heat and supply be judged. To use a key, write "
    "its\n"
    "# value and take the # away, from the [table] above it too.\n";

std::string comment_of(const Key& key) {
  std::string comment = key.meaning;
  if (!key.unit.empty()) comment += " [" + key.unit + "]";
  if (!key.allowed().empty()) comment += "; " + key.allowed();
  if (!key.fallback.empty()) comment += "; " + key.fallback + " if not given";
  if (key.required) comment += " (*)";
  return comment;
}

bool is_open(const Key& key) {
  return !key.example.empty();
}

bool has_open_key(std::string_view table) {
  const auto& keys = all_keys();
  return std::any_of(keys.begin(), keys.end(),
                     [&](const Key& key) { return is_open(key) && parent_of(key.path) == table; });
}

std::string table_lines(const Key& key) {
  return "\n# " + key.meaning + "\n" + (key.path == "limits" ? kLimits : "") +
         (has_open_key(key.path) ? "[" : "# [") + key.path + "]\n";
}

std::string open_key_lines(const Key& key) {
  const std::string unit = key.unit.empty() ? "" : " [" + key.unit + "]";
  const char* const such_as = key.kind == KeyKind::text ? "; for instance: " : "; to begin with: ";
  return "# " + key.meaning + unit + such_as + key.example + "\n" + std::string(last_part_of(key.path)) +
         " = " + key.start + "\n";
}

std::string key_lines(const Key& key) {
  if (is_open(key)) return open_key_lines(key);
  if (key.start.empty()) return "#   " + std::string(last_part_of(key.path)) + ": " + comment_of(key) + "\n";
  return "# " + comment_of(key) + "\n# " + std::string(last_part_of(key.path)) + " = " + key.start + "\n";
}

// What a player's guard needs of every coil, and what is limited beside it.
bool stands_first(const Key& key) {
  return key.path == "name" || key.path.starts_with("limits");
}

std::string lines_of(bool first) {
  std::string text;
  for (const Key& key : all_keys())
    if (stands_first(key) == first)
      text += key.kind == KeyKind::table && key.start.empty() ? table_lines(key) : key_lines(key);
  return text;
}

}  // namespace

std::string profile_to_fill_in() {
  return kTop + lines_of(true) + kRest + lines_of(false);
}

}  // namespace burstloom
