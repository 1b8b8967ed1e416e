#include "nesting.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr int kMostDots = 8;

// Past the string that starts at `at` (TOML 1.0, "String"): one line, or several between tripled quotes; only
// strings in double quotes know escapes. An unclosed one-line string ends at the line's end.
std::size_t past_string(std::string_view text, std::size_t at) {
  const char quote = text[at];
  const std::string triple(3, quote);
  const bool several_lines = text.substr(at, 3) == triple;
  at += several_lines ? 3 : 1;
  while (at < text.size()) {
    if (text[at] == '\\' && quote == '"') {
      at += 2;
    } else if (several_lines ? text.substr(at, 3) == triple : text[at] == quote) {
      return at + (several_lines ? 3 : 1);
    } else if (!several_lines && text[at] == '\n') {
      return at;
    } else {
      ++at;
    }
  }
  return text.size();
}

std::string line_of(std::string_view text, std::size_t at) {
  const auto before = text.substr(0, at);
  return std::to_string(1 + std::count(before.begin(), before.end(), '\n'));
}

}  // namespace

void require_shallow_keys(std::string_view text, const std::string& file) {
  int dots = 0;
  for (std::size_t at = 0; at < text.size();) {
    const char c = text[at];
    if (c == '"' || c == '\'') {
      at = past_string(text, at);
      continue;
    }
    if (c == '#') at = std::min(text.find('\n', at), text.size() - 1);
    if (c == '.' && ++dots > kMostDots)
      throw bad_input("a key has more than " + std::to_string(kMostDots) + " dots",
                      file + ", line " + line_of(text, at), "use the keys that docs/coil-profile.md lists");
    if (c == '\n' || c == '#' || c == '=' || c == ',' || c == '{' || c == '[') dots = 0;
    ++at;
  }
}

}  // namespace burstloom
