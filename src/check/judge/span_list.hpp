// All violations of one limit as spans of time, merged while they come, so that memory does not grow with
// them.
#pragma once

#include <vector>

#include "burstloom/check/judge.hpp"

namespace burstloom::judge_detail {

/// Violations no more than `kSpansApart_s` apart are one span. Where that leaves more than `kSpansListed`
/// spans, the distance is doubled until it does not.
class SpanList {
 public:
  /// A violation; moments must not fall.
  void add(const Violation& violation);
  /// The last violation goes on until `at_s`.
  void extend(double at_s, double value);
  [[nodiscard]] const std::vector<ViolationSpan>& spans() const { return spans_; }

 private:
  void merge_again();

  double apart_s_ = kSpansApart_s;
  std::vector<ViolationSpan> spans_;
};

}  // namespace burstloom::judge_detail
