#include <algorithm>
#include <bit>
#include <iterator>
#include <tuple>

#include "line.hpp"

namespace burstloom::guard_detail {
namespace {

// By blocks of bursts, and burst by burst only where a block's first and the last that its last looks back to
// are too near to tell.
bool holds(const std::vector<Item>& line, const CountLimit& limit) {
  constexpr std::size_t kBlock = 8;
  if (limit.most >= static_cast<std::int64_t>(line.size())) return true;
  const auto most = static_cast<std::size_t>(std::max<std::int64_t>(0, limit.most));
  const auto apart = [&](std::size_t from, std::size_t to) {
    return line[to].start - line[from].start >= limit.window;
  };
  for (std::size_t first = most; first < line.size(); first += kBlock) {
    const std::size_t end = std::min(first + kBlock, line.size());
    if (apart(end - 1 - most, first)) continue;
    for (std::size_t i = first; i < end; ++i)
      if (!apart(i - most, i)) return false;
  }
  return true;
}

// How soon a burst goes when bursts must go: the lightest first; in a voice every odd one before every even
// one, then those of the even ones that are odd among themselves (the ruler sequence); the latest first at
// the last.
struct Goes {
  std::uint32_t weight;
  int evenness;
  std::size_t index;
  bool operator<(const Goes& other) const {  // the top of a priority queue is the greatest: the first to go
    return std::tie(other.weight, other.evenness, index) < std::tie(weight, evenness, other.index);
  }
};

std::vector<int> evenness_in_voice(const std::vector<Item>& line) {
  std::vector<std::uint32_t> seen;  // by voice
  std::vector<int> evenness;
  evenness.reserve(line.size());
  for (const Item& item : line) {
    if (item.voice >= seen.size()) seen.resize(item.voice + std::size_t{1});
    const std::uint32_t ordinal = seen[item.voice]++;
    evenness.push_back(ordinal == 0 ? 32 : std::countr_zero(ordinal));
  }
  return evenness;
}

// Who goes next among the items of a window. Items come in only when somebody must go, so that where all have
// room nothing is sorted.
class Queue {
 public:
  explicit Queue(const std::vector<Item>& line) : line_(line), evenness_(evenness_in_voice(line)) {}

  /// Of the items [oldest, last] that have not gone yet; both ends only ever rise.
  std::size_t next_to_go(std::size_t oldest, std::size_t last) {
    if (next_ <= oldest) {
      queue_.clear();
      next_ = oldest;
    }
    for (; next_ <= last; ++next_) {
      queue_.push_back({line_[next_].weight, evenness_[next_], next_});
      std::push_heap(queue_.begin(), queue_.end());
    }
    if (queue_.size() > 4 * (last - oldest + 16)) forget_before(oldest);
    while (pop() < oldest) {
    }
    return popped_;
  }

 private:
  std::size_t pop() {
    std::pop_heap(queue_.begin(), queue_.end());
    popped_ = queue_.back().index;
    queue_.pop_back();
    return popped_;
  }
  void forget_before(std::size_t oldest) {
    queue_.erase(
        std::remove_if(queue_.begin(), queue_.end(), [&](const Goes& goes) { return goes.index < oldest; }),
        queue_.end());
    std::make_heap(queue_.begin(), queue_.end());
  }

  const std::vector<Item>& line_;
  std::vector<int> evenness_;
  std::vector<Goes> queue_;
  std::size_t next_ = 0, popped_ = 0;
};

void thin_to(std::vector<Item>& line, const CountLimit& limit) {
  Queue queue(line);
  std::int64_t inside = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    for (; line[oldest].start <= line[i].start - limit.window; ++oldest)
      inside -= line[oldest].dropped() ? 0 : 1;
    for (++inside; inside > limit.most; --inside) line[queue.next_to_go(oldest, i)].drop(limit.cause);
  }
}

}  // namespace

void Line::take_out_dropped() {
  const auto is_dropped = [](const Item& item) { return item.dropped(); };
  const auto first = std::find_if(items.begin(), items.end(), is_dropped);
  std::copy_if(first, items.end(), std::back_inserter(gone), is_dropped);
  items.erase(std::remove_if(first, items.end(), is_dropped), items.end());
}

bool starts_hold(const std::vector<Item>& items, const GateLimits& limits) {
  const std::vector<CountLimit> counts = count_limits(limits);
  return std::all_of(counts.begin(), counts.end(), [&](const CountLimit& it) { return holds(items, it); });
}

void thin_out(Line& line, const GateLimits& limits) {
  for (const CountLimit& limit : count_limits(limits)) {
    if (holds(line.items, limit)) continue;
    thin_to(line.items, limit);
    line.take_out_dropped();
  }
}

}  // namespace burstloom::guard_detail
