// Windows that slide along the gate: what the worst of all windows of one length holds. Windows that end
// where an interval ends, the oldest interval cut, are enough: no window anywhere holds more than the worst
// of these.
#pragma once

#include <algorithm>
#include <cstddef>
#include <memory>

#include "gate_view.hpp"

namespace burstloom::judge_detail {

/// A window's content at its worst and where that window ends.
struct WorstWindow {
  Tick content = 0;
  Tick end = 0;
};

/// The intervals that windows still reach, by their number since the start.
template <class Item>
class Recent {
 public:
  [[nodiscard]] const Item& operator[](std::size_t number) const { return ring_[number & mask_]; }
  [[nodiscard]] std::size_t size() const { return end_; }  ///< one past the newest
  void push(const Item& item) {
    if (end_ - first_ == mask_ + 1) grow();
    ring_[end_++ & mask_] = item;
  }
  void forget_before(std::size_t number) { first_ = number; }

 private:
  void grow() {
    const std::size_t larger_mask = 2 * mask_ + 1;
    auto larger = std::make_unique<Item[]>(larger_mask + 1);
    for (std::size_t i = first_; i != end_; ++i) larger[i & larger_mask] = (*this)[i];
    ring_ = std::move(larger);
    mask_ = larger_mask;
  }
  std::size_t mask_ = 63;  // one less than a power of two
  std::unique_ptr<Item[]> ring_ = std::make_unique<Item[]>(mask_ + 1);
  std::size_t first_ = 0, end_ = 0;
};

/// The most on-time within any half-open window. Fed each interval's number in turn; `end_of` says where an
/// interval ends for this window, `each(window_end, content)` is called for every window looked at.
class FullestWindow {
 public:
  explicit FullestWindow(Tick window) : window_(window) {}

  template <class Intervals, class EndOf, class Each>
  void take(const Intervals& gate, std::size_t newest, EndOf end_of, Each each) {
    const Tick end = end_of(gate[newest]), from = end - window_;
    whole_ += end - gate[newest].start;
    for (; end_of(gate[oldest_]) <= from; ++oldest_) whole_ -= end_of(gate[oldest_]) - gate[oldest_].start;
    const Tick content = whole_ - std::max<Tick>(0, from - gate[oldest_].start);
    each(end, content);
    if (content > worst_.content) worst_ = {content, end};
  }

  [[nodiscard]] const WorstWindow& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  Tick window_, whole_ = 0;  // on-time of the intervals from the oldest on, in full
  std::size_t oldest_ = 0;
  WorstWindow worst_;
};

/// The most starts of intervals within any half-open window.
class BusiestWindow {
 public:
  explicit BusiestWindow(Tick window) : window_(window) {}

  template <class Intervals, class Each>
  void take(const Intervals& gate, std::size_t newest, Each each) {
    const Tick start = gate[newest].start;
    while (gate[oldest_].start <= start - window_) ++oldest_;
    const auto content = static_cast<Tick>(newest - oldest_ + 1);
    each(start, content);
    if (content > worst_.content) worst_ = {content, start};
  }

  [[nodiscard]] const WorstWindow& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  Tick window_;
  std::size_t oldest_ = 0;
  WorstWindow worst_;
};

/// The most of what intervals weigh, evenly spread over each.
class HeaviestWindow {
 public:
  explicit HeaviestWindow(Tick window) : window_(window) {}

  template <class Intervals, class WeightOf>
  void take(const Intervals& gate, std::size_t newest, WeightOf weight_of) {
    whole_ += weight_of(gate[newest]);
    const Tick from = gate[newest].end - window_;
    for (; gate[oldest_].end <= from; ++oldest_) whole_ -= weight_of(gate[oldest_]);
    const auto& cut = gate[oldest_];
    const double outside =
        from > cut.start ? static_cast<double>(from - cut.start) / static_cast<double>(cut.end - cut.start)
                         : 0;
    worst_.see(whole_ - outside * weight_of(cut), gate[newest].end);
  }

  [[nodiscard]] const Worst& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  Tick window_;
  double whole_ = 0;
  std::size_t oldest_ = 0;
  Worst worst_;
};

}  // namespace burstloom::judge_detail
