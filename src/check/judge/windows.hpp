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

/// For who asks for the worst alone.
inline constexpr auto kIgnore = [](Tick, Tick) {};

/// The intervals that windows still reach, by their number since the start.
template <class Item>
class RingBuffer {
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

// A window that ends later holds at most what the last one looked at held and what came since: as long as
// that is no more than the worst, there is nothing to look at, and most bursts cost one addition.

/// The most on-time within any half-open window. Fed each interval's number in turn; `end_of` says where an
/// interval ends for this window, `past(window_end, content)` is called for every window that holds more than
/// `allowance`.
class FullestWindow {
 public:
  explicit FullestWindow(Tick window, Tick allowance = kNever) : window_(window), allowance_(allowance) {}

  template <class Intervals, class EndOf, class Past>
  void take(const Intervals& gate, std::size_t newest, EndOf end_of, Past past) {
    since_ += end_of(gate[newest]) - gate[newest].start;
    if (since_ > room_) look(gate, newest, end_of, past);
  }

  void look_next() { room_ = -1; }
  [[nodiscard]] const WorstWindow& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  template <class Intervals, class EndOf, class Past>
  void look(const Intervals& gate, std::size_t newest, EndOf end_of, Past past) {
    const Tick end = end_of(gate[newest]), from = end - window_;
    whole_ += since_;
    since_ = 0;
    for (; end_of(gate[oldest_]) <= from; ++oldest_) whole_ -= end_of(gate[oldest_]) - gate[oldest_].start;
    const Tick content = whole_ - std::max<Tick>(0, from - gate[oldest_].start);
    if (content > allowance_) past(end, content);
    if (content > worst_.content) worst_ = {content, end};
    room_ = std::min(worst_.content, allowance_) - content;
  }

  Tick window_, allowance_;
  Tick whole_ = 0;             // on-time of the intervals from the oldest to the last one looked at, in full
  Tick since_ = 0, room_ = 0;  // on-time after that one; how much of it makes no window worth a look
  std::size_t oldest_ = 0;
  WorstWindow worst_;
};

/// The most starts of intervals within any half-open window; `past` as above.
class BusiestWindow {
 public:
  explicit BusiestWindow(Tick window, Tick allowance = kNever) : window_(window), allowance_(allowance) {}

  template <class Intervals, class Past>
  void take(const Intervals& gate, std::size_t newest, Past past) {
    if (newest < next_look_) return;
    const Tick start = gate[newest].start;
    while (gate[oldest_].start <= start - window_) ++oldest_;
    const auto content = static_cast<Tick>(newest - oldest_ + 1);
    if (content > allowance_) past(start, content);
    if (content > worst_.content) worst_ = {content, start};
    const Tick room = std::min(worst_.content, allowance_) - content;
    next_look_ = newest + 1 + static_cast<std::size_t>(std::max<Tick>(0, room));
  }

  void look_next() { next_look_ = 0; }
  [[nodiscard]] const WorstWindow& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  Tick window_, allowance_;
  std::size_t oldest_ = 0, next_look_ = 0;
  WorstWindow worst_;
};

/// The most of what intervals weigh, evenly spread over each; `weight_of` says it of an interval's number.
class HeaviestWindow {
 public:
  explicit HeaviestWindow(Tick window) : window_(window) {}

  template <class Intervals, class WeightOf>
  void take(const Intervals& gate, std::size_t newest, WeightOf weight_of) {
    since_ += weight_of(newest);
    if (since_ > room_) look(gate, newest, weight_of);
  }

  void look_next() { room_ = -1; }
  [[nodiscard]] const Worst& worst() const { return worst_; }
  [[nodiscard]] std::size_t oldest() const { return oldest_; }

 private:
  template <class Intervals, class WeightOf>
  void look(const Intervals& gate, std::size_t newest, WeightOf weight_of) {
    whole_ += since_;
    since_ = 0;
    const Tick from = gate[newest].end - window_;
    for (; gate[oldest_].end <= from; ++oldest_) whole_ -= weight_of(oldest_);
    const auto& cut = gate[oldest_];
    const double outside =
        from > cut.start ? static_cast<double>(from - cut.start) / static_cast<double>(cut.end - cut.start)
                         : 0;
    const double content = whole_ - outside * weight_of(oldest_);
    worst_.update(content, gate[newest].end);
    room_ = worst_.value - content;
  }

  Tick window_;
  double whole_ = 0, since_ = 0, room_ = 0;
  std::size_t oldest_ = 0;
  Worst worst_;
};

/// Slides a window over all intervals from this number on; on a copy of its own, which the compiler keeps in
/// registers (a third less time).
template <class Window, class Intervals, class... How>
void slide(Window& window, const Intervals& gate, std::size_t from, const How&... how) {
  Window sliding = window;
  sliding.look_next();
  for (std::size_t i = from; i < gate.size(); ++i) sliding.take(gate, i, how...);
  window = sliding;
}

}  // namespace burstloom::judge_detail
