#include "keys.hpp"

#include <charconv>
#include <cmath>
#include <cstdio>

#include "burstloom/coil/profile_keys.hpp"

namespace burstloom {
namespace {

std::string words_of(const std::vector<std::string>& choices) {
  std::string words;
  for (std::size_t i = 0; i < choices.size(); ++i)
    words += (i == 0 ? "" : i + 1 == choices.size() ? " or " : ", ") + ("\"" + choices[i] + "\"");
  return words;
}

}  // namespace

std::string plain(double value) {
  char text[40];
  if (value == std::floor(value) && std::abs(value) < 1e9) {
    std::snprintf(text, sizeof text, "%.0f", value);
    return text;
  }
  const bool is_small = std::abs(value) >= 1e-7 && std::abs(value) < 0.01;
  const auto end = is_small ? std::to_chars(text, text + sizeof text, value, std::chars_format::fixed).ptr
                            : std::to_chars(text, text + sizeof text, value, std::chars_format::general).ptr;
  return {text, end};
}

std::string Range::words() const {
  return "from " + plain(low) + (below_high ? ", below " : " to ") + plain(high);
}

std::string Key::allowed() const {
  switch (kind) {
    case KeyKind::table:
      return "";
    case KeyKind::list:
      return "1 to " + std::to_string(most) + " entries";
    case KeyKind::number:
      return range.words();
    case KeyKind::whole:
      return "a whole number " + range.words();
    case KeyKind::flag:
      return "true or false";
    case KeyKind::text:
      return "1 to " + std::to_string(most) + " bytes of text";
    case KeyKind::choice:
      return words_of(choices);
    case KeyKind::numbers:
      return "1 to " + std::to_string(most) + " numbers, each " + range.words();
  }
  return "";
}

const Key* find_key(std::string_view path) {
  for (const Key& one : all_keys())
    if (one.path == path) return &one;
  return nullptr;
}

std::string_view parent_of(std::string_view path) {
  const std::size_t dot = path.rfind('.');
  return dot == std::string_view::npos ? std::string_view{} : path.substr(0, dot);
}

std::string_view last_part_of(std::string_view path) {
  const std::size_t dot = path.rfind('.');
  return dot == std::string_view::npos ? path : path.substr(dot + 1);
}

std::vector<ProfileKey> profile_keys() {
  std::vector<ProfileKey> keys;
  for (const Key& one : all_keys())
    keys.push_back({one.path, one.meaning, one.unit, one.allowed(), one.fallback, one.required});
  return keys;
}

}  // namespace burstloom
