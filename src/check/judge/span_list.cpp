#include "span_list.hpp"

#include <cmath>

namespace burstloom::judge_detail {
namespace {

void join(ViolationSpan& span, const ViolationSpan& later) {
  span.until_s = later.until_s;
  span.count += later.count;
  if (std::abs(later.worst - span.allowed) > std::abs(span.worst - span.allowed)) span.worst = later.worst;
}

}  // namespace

void SpanList::add(const Violation& it) {
  const ViolationSpan span{it.limit, it.unit, it.at_s, it.at_s, it.value, it.allowed, 1};
  if (!spans_.empty() && span.from_s - spans_.back().until_s <= apart_s_) return join(spans_.back(), span);
  spans_.push_back(span);
  while (spans_.size() > kSpansListed) merge_again();
}

void SpanList::extend(double at_s, double value) {
  ViolationSpan longer = spans_.back();
  longer.until_s = at_s;
  longer.worst = value;
  longer.count = 0;
  join(spans_.back(), longer);
}

void SpanList::merge_again() {
  apart_s_ *= 2;
  std::vector<ViolationSpan> merged;
  for (const ViolationSpan& span : spans_)
    if (!merged.empty() && span.from_s - merged.back().until_s <= apart_s_)
      join(merged.back(), span);
    else
      merged.push_back(span);
  spans_ = std::move(merged);
}

}  // namespace burstloom::judge_detail
