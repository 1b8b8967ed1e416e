#include "words.hpp"

#include <cmath>
#include <cstdio>
#include <sstream>
#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom::table_detail {
namespace {

constexpr std::size_t kLongestOfWhoseLimits = 2000;  // every duty window a profile may reasonably have

}  // namespace

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.9g", value);
  return text;
}

std::string microseconds(Tick ticks, std::int64_t tick_hz) {
  return number(static_cast<double>(ticks) * 1e6 / static_cast<double>(tick_hz)) + " us";
}

std::string seconds_of(std::int64_t ms) {
  return number(static_cast<double>(ms) / 1000) + " s";
}

std::string factor_in_words(double factor) {
  return number(std::ceil(factor * 100 - 1e-9) / 100) + " times";
}

std::string in_comment(std::string_view text, std::size_t longest) {
  std::string safe = printable(with_ascii_units(std::string(text)), longest);
  for (std::size_t i = 0; i < safe.size(); ++i) {
    const auto c = static_cast<unsigned char>(safe[i]);
    const char before = i > 0 ? safe[i - 1] : ' ';
    const bool closes = safe[i] == '/' && before == '*', opens = safe[i] == '*' && before == '/';
    if (c < 0x20 || c >= 0x7F || safe[i] == '\\' || closes || opens || (safe[i] == '?' && before == '?'))
      safe[i] = '_';
  }
  return safe;
}

std::string in_markdown(std::string_view text, std::size_t longest) {
  std::string safe;
  for (const char c : in_comment(text, longest)) {
    if (std::string_view("*_`[]<>#&|~!").find(c) != std::string_view::npos) safe += '\\';
    safe += c;
  }
  return safe;
}

std::string comment_lines(std::span<const std::string_view> lines) {
  std::string text;
  for (const std::string_view line : lines)
    text += " *" + std::string(line.empty() ? "" : " ") + std::string(line) + "\n";
  return text;
}

std::string whose_limits_in_comment(std::span<const std::string> texts) {
  constexpr std::size_t kColumns = 92;
  std::string lines;
  for (const std::string& text : texts) {
    std::istringstream words(in_comment(text, kLongestOfWhoseLimits));
    std::string line = " *", word;
    for (; words >> word; line += " " + word)
      if (line.size() + 1 + word.size() > kColumns) lines += std::exchange(line, " *  ") + "\n";
    lines += line + "\n";
  }
  return lines;
}

std::string whose_limits_in_markdown(std::span<const std::string> texts) {
  std::string lines;
  for (const std::string& text : texts) lines += in_markdown(text, kLongestOfWhoseLimits) + "  \n";
  return lines;
}

std::string paragraphs(std::span<const std::string_view> lines) {
  std::string text;
  for (const std::string_view line : lines) text += std::string(line) + "\n";
  return text;
}

}  // namespace burstloom::table_detail
