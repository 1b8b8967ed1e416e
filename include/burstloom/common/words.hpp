// How numbers and words are said to people.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

[[nodiscard]] std::string grouped(std::int64_t number);  ///< 61 234
[[nodiscard]] std::string clock_time(double seconds);    ///< 1:24.013
[[nodiscard]] std::string hours(double seconds);         ///< 1:02:03, to the nearest second
[[nodiscard]] std::string in_tenths(double value);       ///< 41.6
[[nodiscard]] std::string figure(double value);          ///< four significant figures, no trailing zeros

[[nodiscard]] std::string listed(const std::vector<std::string>& words);  ///< lead, bass, inner
[[nodiscard]] std::string in_small_letters(std::string_view text);        ///< only a to z are changed

}  // namespace burstloom
