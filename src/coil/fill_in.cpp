// The profile that `coil new` writes, from the declarations of the keys.
#include "burstloom/coil/profile.hpp"
#include "keys.hpp"

namespace burstloom {
namespace {

const char* const kTop =
    "# A Burstloom coil profile. Fill in what you have measured; lines that start with \"# \" and a key are "
    "off.\n"
    "# Keys marked (*) must be given. What a key means and how to measure it: "
    "docs/reference/coil-profile.md.\n"
    "#\n"
    "# High voltage, RF burns, ozone, noise, fire; dangerous to people with implants; bus capacitors stay "
    "charged.\n"
    "# Follow local codes, let licensed people work on mains. A prediction is no permission.\n"
    "# The limits below are small on purpose: raise them only by what you have measured.\n";

std::string comment_of(const Key& key) {
  std::string comment = key.meaning;
  if (!key.unit.empty()) comment += " [" + key.unit + "]";
  if (!key.allowed().empty()) comment += "; " + key.allowed();
  if (!key.fallback.empty()) comment += "; " + key.fallback + " if not given";
  if (key.required) comment += " (*)";
  return comment;
}

bool has_live_key(std::string_view table) {
  for (const Key& key : all_keys())
    if (key.start_live && parent_of(key.path) == table) return true;
  return false;
}

std::string table_lines(const Key& key) {
  return "\n# " + key.meaning + "\n" + (has_live_key(key.path) ? "[" : "# [") + key.path + "]\n";
}

std::string key_lines(const Key& key) {
  if (key.start.empty()) return "#   " + std::string(last_part_of(key.path)) + ": " + comment_of(key) + "\n";
  return "# " + comment_of(key) + "\n" + (key.start_live ? "" : "# ") + std::string(last_part_of(key.path)) +
         " = " + key.start + "\n";
}

}  // namespace

std::string profile_to_fill_in() {
  std::string text = kTop;
  for (const Key& key : all_keys())
    text += key.kind == KeyKind::table && key.start.empty() ? table_lines(key) : key_lines(key);
  return text;
}

}  // namespace burstloom
