// Numbers and names as text for messages, comments and C sources.
#pragma once

#include <string>
#include <string_view>

namespace burstloom::table_detail {

/// A figure for people: at most nine significant digits, no trailing zeros, '.' whatever the locale.
[[nodiscard]] std::string number(double value);

/// `text` fit for the inside of a C comment on one line: control characters, non-ASCII, `*/`, `/*`, trigraphs
/// and a trailing backslash become harmless; long text is cut.
[[nodiscard]] std::string in_comment(std::string_view text);

/// How far a damaged table can get past an allowance, for people: two decimals, up.
[[nodiscard]] std::string factor_in_words(double factor);

}  // namespace burstloom::table_detail
