#include <algorithm>
#include <bit>
#include <iterator>
#include <queue>
#include <tuple>
#include <unordered_map>

#include "line.hpp"

namespace burstloom::guard_detail {
namespace {

// A budget for a sliding window in which every burst costs the same.
struct Budget {
  Tick window = 1;
  std::int64_t most = 0;  // bursts in any window
  Causes cause = 0;
};

bool holds(const std::vector<Item>& line, const Budget& budget) {
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    while (line[oldest].start <= line[i].start - budget.window) ++oldest;
    if (static_cast<std::int64_t>(i - oldest) + 1 > budget.most) return false;
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
  std::unordered_map<std::uint16_t, std::uint32_t> seen;
  std::vector<int> evenness;
  evenness.reserve(line.size());
  for (const Item& item : line) {
    const std::uint32_t ordinal = seen[item.voice]++;
    evenness.push_back(ordinal == 0 ? 32 : std::countr_zero(ordinal));
  }
  return evenness;
}

void thin_to(std::vector<Item>& line, const Budget& budget) {
  if (holds(line, budget)) return;
  const std::vector<int> evenness = evenness_in_voice(line);
  std::priority_queue<Goes> queue;
  std::int64_t inside = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    for (; line[oldest].start <= line[i].start - budget.window; ++oldest)
      inside -= line[oldest].dropped ? 0 : 1;
    queue.push({line[i].weight, evenness[i], i});
    for (++inside; inside > budget.most; --inside) {
      while (queue.top().index < oldest) queue.pop();
      line[queue.top().index].drop(budget.cause);
      queue.pop();
    }
  }
}

}  // namespace

void Line::take_out_dropped() {
  const auto is_dropped = [](const Item& item) { return item.dropped; };
  const auto first = std::find_if(items.begin(), items.end(), is_dropped);
  std::copy_if(first, items.end(), std::back_inserter(gone), is_dropped);
  items.erase(std::remove_if(first, items.end(), is_dropped), items.end());
}

void thin_out(Line& line, const GateLimits& limits) {
  const auto thin = [&](const Budget& budget) {
    thin_to(line.items, budget);
    line.take_out_dropped();
  };
  if (limits.start_window > 0) thin({limits.start_window, limits.most_starts, bit(Cause::break_rate)});
  for (std::size_t i = 0; i < limits.duty.size(); ++i)
    thin({limits.duty[i].window, limits.duty[i].allowance / limits.on_min, bit(Cause::duty, i)});
}

}  // namespace burstloom::guard_detail
