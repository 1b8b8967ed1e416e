// How numbers, units, times and lists are written for people. src/preview/page/basics.js writes them alike for
// the pages; tests/support/words_table.json holds both to the same table.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

/// 61 234, but 4832: groups of three from five digits on (SI brochure, 9th edition, 5.4.4).
[[nodiscard]] std::string grouped(std::int64_t number);
/// So many decimals, halves away from zero, never "-0".
[[nodiscard]] std::string fixed(double value, int decimals);
[[nodiscard]] std::string in_tenths(double value);  ///< 41.6
/// Four significant figures in plain digits, no trailing zeros: "0.125", "2500", "94 168".
[[nodiscard]] std::string figure(double value);

/// A unit as people write it: "µs" for "us", "°C" for "C".
[[nodiscard]] std::string shown_unit(const std::string& unit);
/// "us" for "µs", "C" for "°C" and plain signs for marks, where only ASCII may stand.
[[nodiscard]] std::string with_ascii_units(std::string text);
/// "37.5 µs"
[[nodiscard]] std::string with_unit(double value, const std::string& unit);

/// A moment: 1:24.013, from an hour on 1:02:03.400. `decimals` is 0 to 3.
[[nodiscard]] std::string clock_time(double seconds, int decimals = 3);
[[nodiscard]] std::string song_length(double seconds);  ///< 3:05.4
[[nodiscard]] std::string hours(double seconds);        ///< 1:02:03, to the nearest second

[[nodiscard]] std::string listed(const std::vector<std::string>& words);  ///< lead, bass, inner
[[nodiscard]] std::string in_small_letters(std::string_view text);        ///< only a to z are changed

}  // namespace burstloom
