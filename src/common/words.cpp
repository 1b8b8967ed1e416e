#include "burstloom/common/words.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace burstloom {

std::string grouped(std::int64_t number) {
  std::string digits = std::to_string(number);
  for (auto at = static_cast<std::ptrdiff_t>(digits.size()) - 3; at > (number < 0 ? 1 : 0); at -= 3)
    digits.insert(static_cast<std::size_t>(at), " ");
  return digits;
}

std::string clock_time(double seconds) {
  const auto ms = static_cast<std::int64_t>(std::llround(seconds * 1000));
  char text[48];
  std::snprintf(text, sizeof text, "%lld:%02lld.%03lld", static_cast<long long>(ms / 60000),
                static_cast<long long>(ms / 1000 % 60), static_cast<long long>(ms % 1000));
  return text;
}

std::string hours(double seconds) {
  const auto whole = static_cast<long>(std::lround(seconds));
  char text[48];
  std::snprintf(text, sizeof text, "%ld:%02ld:%02ld", whole / 3600, whole / 60 % 60, whole % 60);
  return text;
}

std::string in_tenths(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

std::string figure(double value) {
  char text[32];
  std::snprintf(text, sizeof text, std::abs(value) >= 1000 ? "%.0f" : "%.4g", value);
  return text;
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

std::string in_small_letters(std::string_view text) {
  std::string small(text);
  std::transform(small.begin(), small.end(), small.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return small;
}

}  // namespace burstloom
