#include "toml_depth.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr int kMostDots = 8;
constexpr std::size_t kMostOpen = 16;  // brackets and braces

// Past the closing quotes of a string of several lines: two more quotes right before them are its own.
std::size_t past_triple(std::string_view text, std::size_t at, char quote) {
  at += 3;
  for (int more = 0; more < 2 && at < text.size() && text[at] == quote; ++more) ++at;
  return at;
}

// Past the string that starts at `at`: one line, or several between tripled quotes; only strings in double
// quotes know escapes. An unclosed one-line string ends at the line's end.
std::size_t past_string(std::string_view text, std::size_t at) {
  const char quote = text[at];
  const std::string triple(3, quote);
  const bool several_lines = text.substr(at, 3) == triple;
  at += several_lines ? 3 : 1;
  while (at < text.size()) {
    if (text[at] == '\\' && quote == '"') {
      at += 2;
    } else if (several_lines ? text.substr(at, 3) == triple : text[at] == quote) {
      return several_lines ? past_triple(text, at, quote) : at + 1;
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

// What is open at one place of the text: dots of the key, brackets and braces.
class Depth {
 public:
  Depth(std::string_view text, const std::string& file) : text_(text), file_(file) {}

  void take(std::size_t at) {
    const char c = text_[at];
    if (c == '.' && ++dots_ > kMostDots)
      refuse(at, "a key has more than " + std::to_string(kMostDots) + " dots",
             "correct that line: no key of this file has so many");
    if (c == '\n' || c == '=' || c == ',' || c == '{' || c == '[') dots_ = 0;
    if (c == '{' || c == '[') open(at);
    if ((c == '}' || c == ']') && open_ > 0) --open_;
  }

 private:
  void open(std::size_t at) {
    if (open_ == 0) outermost_ = at;
    if (++open_ > kMostOpen)
      refuse(at, "more than " + std::to_string(kMostOpen) + " brackets and braces are open",
             "close them: the first was opened in line " + line_of(text_, outermost_));
  }
  [[noreturn]] void refuse(std::size_t at, const std::string& what, const std::string& what_to_do) const {
    throw bad_input(what, file_ + ", line " + line_of(text_, at), what_to_do);
  }

  std::string_view text_;
  const std::string& file_;
  int dots_ = 0;
  std::size_t open_ = 0, outermost_ = 0;
};

}  // namespace

void require_shallow(std::string_view text, const std::string& file) {
  Depth depth(text, file);
  for (std::size_t at = 0; at < text.size();) {
    if (text[at] == '"' || text[at] == '\'') {
      at = past_string(text, at);
      continue;
    }
    if (text[at] == '#') at = std::min(text.find('\n', at), text.size());
    if (at < text.size()) depth.take(at++);
  }
}

}  // namespace burstloom
