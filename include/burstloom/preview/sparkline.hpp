// A course of values as one line of text.
#pragma once

#include <span>
#include <string>

namespace burstloom {

/// One letter a value, from the lowest (an eighth of a block, at `low` and under it) to a full block (at
/// `high` and over it); without `blocks` letters of ASCII. `low` < `high`, else all are lowest; not a number
/// is a space.
[[nodiscard]] std::string sparkline(std::span<const double> values, double low, double high, bool blocks);

}  // namespace burstloom
