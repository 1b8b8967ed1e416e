// How numbers are said to people.
#pragma once

#include <cstdint>
#include <string>

namespace burstloom {

[[nodiscard]] std::string grouped(std::int64_t number);  ///< 61 234
[[nodiscard]] std::string clock_time(double seconds);    ///< 1:24.013
[[nodiscard]] std::string hours(double seconds);         ///< 1:02:03, to the nearest second
[[nodiscard]] std::string in_tenths(double value);       ///< 41.6
[[nodiscard]] std::string figure(double value);          ///< four significant figures, no trailing zeros

}  // namespace burstloom
