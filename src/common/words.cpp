#include "burstloom/common/words.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string_view>

namespace burstloom {
namespace {

constexpr std::size_t kMostUngrouped = 4;
constexpr int kMostDecimals = 9;

// Of the digits before the point, from five on.
std::string with_groups(std::string digits) {
  const std::size_t first = digits.rfind('-', 0) == 0 ? 1 : 0;
  const std::size_t end = std::min(digits.find('.'), digits.size());
  if (end - first <= kMostUngrouped) return digits;
  for (std::size_t at = end; at > first + 3;) digits.insert(at -= 3, " ");
  return digits;
}

std::string without_trailing_zeros(std::string digits) {
  if (digits.find('.') == std::string::npos) return digits;
  digits.erase(digits.find_last_not_of('0') + 1);
  if (digits.back() == '.') digits.pop_back();
  return digits;
}

std::string padded(long long number, int width) {
  std::string digits = std::to_string(number);
  if (digits.size() < static_cast<std::size_t>(width))
    digits.insert(0, static_cast<std::size_t>(width) - digits.size(), '0');
  return digits;
}

}  // namespace

std::string grouped(std::int64_t number) {
  return with_groups(std::to_string(number));
}

std::string fixed(double value, int decimals) {
  char text[400];
  // printf takes halves to the even digit, a browser away from zero: the next number up is no half any more.
  std::snprintf(text, sizeof text, "%.*f", decimals, std::nextafter(value, std::copysign(INFINITY, value)));
  const std::string digits = text;
  const bool is_zero = digits.find_first_of("123456789") == std::string::npos && std::isfinite(value);
  return is_zero && digits.front() == '-' ? digits.substr(1) : digits;
}

std::string in_tenths(double value) {
  return fixed(value, 1);
}

std::string figure(double value) {
  if (!std::isfinite(value)) return "not known";
  const double size = std::abs(value);
  const int before_point = size > 0 ? static_cast<int>(std::floor(std::log10(size))) + 1 : 1;
  return with_groups(without_trailing_zeros(fixed(value, std::clamp(4 - before_point, 0, kMostDecimals))));
}

std::string shown_unit(const std::string& unit) {
  return unit == "us" ? "µs" : unit == "C" ? "°C" : unit;
}

std::string with_ascii_units(std::string text) {
  constexpr std::string_view kPlain[][2] = {{"µ", "u"}, {"°", ""}, {"✓", "+"}, {"✗", "!"}};
  for (const auto& [sign, plain] : kPlain)
    for (std::size_t at = 0; (at = text.find(sign, at)) != std::string::npos;)
      text.replace(at, sign.size(), plain);
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

std::string with_unit(double value, const std::string& unit) {
  return figure(value) + " " + shown_unit(unit);
}

std::string clock_time(double seconds, int decimals) {
  const auto parts = std::llround(std::pow(10, decimals));
  const long long all = std::llround(seconds * static_cast<double>(parts)), whole = all / parts;
  const std::string rest = padded(whole % 60, 2) + (decimals > 0 ? "." + padded(all % parts, decimals) : "");
  if (whole < 3600) return std::to_string(whole / 60) + ":" + rest;
  return std::to_string(whole / 3600) + ":" + padded(whole / 60 % 60, 2) + ":" + rest;
}

std::string song_length(double seconds) {
  return clock_time(seconds, 1);
}

std::string hours(double seconds) {
  const auto whole = std::llround(seconds);
  return std::to_string(whole / 3600) + ":" + padded(whole / 60 % 60, 2) + ":" + padded(whole % 60, 2);
}

}  // namespace burstloom
