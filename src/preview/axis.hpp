// Axes: where the marks stand and what they say.
#pragma once

#include <string>
#include <vector>

#include "burstloom/common/words.hpp"

namespace burstloom::preview_detail {

struct Mark {
  double value = 0;
  std::string label;
};

/// Marks from `low` to `high` at round steps (1, 2 or 5 times a power of ten), about `wanted` of them.
[[nodiscard]] std::vector<Mark> round_marks(double low, double high, int wanted);

/// Marks of time: round steps of seconds or of milliseconds and less, whole minutes as min:s for long
/// stretches.
struct TimeMarks {
  std::string unit;  ///< "s", "min:s"
  std::vector<Mark> marks;
};
[[nodiscard]] TimeMarks time_marks(double from_s, double until_s, int wanted);

/// Marks of a logarithmic frequency axis: 1, 2 and 5 times powers of ten.
[[nodiscard]] std::vector<Mark> frequency_marks(double lowest_hz, double highest_hz);

}  // namespace burstloom::preview_detail
