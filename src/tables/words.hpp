// Numbers and names as text for messages, comments and C sources.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "burstloom/stream/burst.hpp"

namespace burstloom::table_detail {

/// A figure for people: at most nine significant digits, no trailing zeros, '.' whatever the locale.
[[nodiscard]] std::string number(double value);

/// "12.5 us" and "3.2 s".
[[nodiscard]] std::string microseconds(Tick ticks, std::int64_t tick_hz);
[[nodiscard]] std::string seconds_of(std::int64_t ms);

/// `text` fit for the inside of a C comment on one line: control characters, non-ASCII, `*/`, `/*`, trigraphs
/// and a trailing backslash become harmless; text longer than `longest` is cut.
[[nodiscard]] std::string in_comment(std::string_view text, std::size_t longest = 200);

/// How far a damaged table can get past an allowance, for people: two decimals, up.
[[nodiscard]] std::string factor_in_words(double factor);

/// The same, fit for Markdown too: a title stays a title.
[[nodiscard]] std::string in_markdown(std::string_view text, std::size_t longest = 200);

/// Lines of a C comment under way.
[[nodiscard]] std::string comment_lines(std::span<const std::string_view> lines);
/// Whose limits it was judged by, for a C comment under way, in lines of at most 92 columns, and for
/// Markdown.
[[nodiscard]] std::string whose_limits_in_comment(std::span<const std::string> texts);
[[nodiscard]] std::string whose_limits_in_markdown(std::span<const std::string> texts);
/// Lines of plain text.
[[nodiscard]] std::string paragraphs(std::span<const std::string_view> lines);

}  // namespace burstloom::table_detail
