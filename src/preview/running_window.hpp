// A running window over a stream, asked at moments in rising order.
#pragma once

#include <algorithm>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom::preview_detail {

/// On-time of all bursts before a moment.
class OnTimeBefore {
 public:
  explicit OnTimeBefore(const std::vector<Burst>& bursts) : bursts_(&bursts) {}
  [[nodiscard]] Tick operator()(Tick t) {
    while (next_ < bursts_->size() && (*bursts_)[next_].end() <= t) whole_ += (*bursts_)[next_++].on;
    const bool within = next_ < bursts_->size() && (*bursts_)[next_].start < t;
    return whole_ + (within ? t - (*bursts_)[next_].start : 0);
  }

 private:
  const std::vector<Burst>* bursts_;
  std::size_t next_ = 0;
  Tick whole_ = 0;
};

/// On-time within [t - window, t): straight between the edges and the edges a window later.
class RunningOnTime {
 public:
  static constexpr bool kSteps = false;
  RunningOnTime(const std::vector<Burst>& bursts, Tick window)
      : now_(bursts), then_(bursts), window_(window) {}
  [[nodiscard]] Tick operator()(Tick t) { return now_(t) - then_(t - window_); }
  [[nodiscard]] static std::vector<Tick> corners(const std::vector<Burst>& bursts) {
    std::vector<Tick> edges;
    edges.reserve(2 * bursts.size());
    for (const Burst& burst : bursts) edges.insert(edges.end(), {burst.start, burst.end()});
    return edges;
  }

 private:
  OnTimeBefore now_, then_;
  Tick window_;
};

/// Starts within (t - window, t]: steps up at each start, down a window later.
class RunningStarts {
 public:
  static constexpr bool kSteps = true;
  RunningStarts(const std::vector<Burst>& bursts, Tick window) : bursts_(&bursts), window_(window) {}
  [[nodiscard]] Tick operator()(Tick t) {
    while (now_ < bursts_->size() && (*bursts_)[now_].start <= t) ++now_;
    while (then_ < bursts_->size() && (*bursts_)[then_].start <= t - window_) ++then_;
    return static_cast<Tick>(now_ - then_);
  }
  [[nodiscard]] static std::vector<Tick> corners(const std::vector<Burst>& bursts) {
    std::vector<Tick> starts;
    starts.reserve(bursts.size());
    for (const Burst& burst : bursts) starts.push_back(burst.start);
    return starts;
  }

 private:
  const std::vector<Burst>* bursts_;
  std::size_t now_ = 0, then_ = 0;
  Tick window_;
};

/// The moments after `from` at which a running window's course changes: `edges` and `edges` a window later,
/// in rising order, each once.
class Corners {
 public:
  Corners(const std::vector<Tick>& edges, Tick window, Tick from)
      : edges_(&edges), window_(window), now_(past(from)), then_(past(from - window)) {}

  /// How many there are up to and with `until` at most (those that fall together count twice).
  [[nodiscard]] std::size_t up_to(Tick until) const {
    return past(until) - now_ + past(until - window_) - then_;
  }
  /// The next one if it is at or before `until`, else -1.
  [[nodiscard]] Tick next(Tick until) {
    const Tick at = std::min(edge(now_), edge(then_) + window_);
    if (at > until) return -1;
    while (edge(now_) == at) ++now_;
    while (edge(then_) + window_ == at) ++then_;
    return at;
  }

 private:
  [[nodiscard]] std::size_t past(Tick t) const {
    return static_cast<std::size_t>(std::upper_bound(edges_->begin(), edges_->end(), t) - edges_->begin());
  }
  [[nodiscard]] Tick edge(std::size_t i) const { return i < edges_->size() ? (*edges_)[i] : 2 * kEndOfTime; }

  const std::vector<Tick>* edges_;
  Tick window_;
  std::size_t now_, then_;
};

}  // namespace burstloom::preview_detail
