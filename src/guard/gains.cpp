#include "gains.hpp"

#include <deque>

namespace burstloom::guard_detail {
namespace {

// The range of items whose start lies within `reach` of items[i].start, as a pair of sliding ends.
struct Neighbours {
  std::size_t first = 0, end = 0;
  void move_to(const std::vector<Item>& items, std::size_t i, Tick reach) {
    while (items[first].start < items[i].start - reach) ++first;
    while (end < items.size() && items[end].start <= items[i].start + reach) ++end;
  }
};

std::vector<Gain> least_nearby(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  std::vector<Gain> least(gains.size());
  std::deque<std::size_t> candidates;
  Neighbours near;
  for (std::size_t i = 0, taken = 0; i < items.size(); ++i) {
    near.move_to(items, i, reach);
    for (; taken < near.end; ++taken) {
      while (!candidates.empty() && gains[candidates.back()] >= gains[taken]) candidates.pop_back();
      candidates.push_back(taken);
    }
    while (candidates.front() < near.first) candidates.pop_front();
    least[i] = gains[candidates.front()];
  }
  return least;
}

std::vector<Gain> mean_nearby(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  std::vector<Gain> mean(gains.size());
  Gain sum = 0;
  Neighbours near;
  for (std::size_t i = 0, added = 0, removed = 0; i < items.size(); ++i) {
    near.move_to(items, i, reach);
    for (; added < near.end; ++added) sum += gains[added];
    for (; removed < near.first; ++removed) sum -= gains[removed];
    mean[i] = sum / static_cast<Gain>(near.end - near.first);  // NOLINT(*DivideZero): i is among them
  }
  return mean;
}

}  // namespace

// Windows come in order of both ends, so those that hold item i are a sliding range: a queue with the least
// gain in front. Windows end at or after the item, so items are settled from the last to the first.
std::vector<Gain> least_gains(std::size_t items, const std::vector<Asked>& asked) {
  std::vector<Gain> least(items, kUnchanged);
  std::deque<Asked> near;
  auto next = asked.rbegin();
  for (std::size_t i = items; i-- > 0;) {
    for (; next != asked.rend() && next->last >= i; ++next) {
      while (!near.empty() && near.back().gain >= next->gain) near.pop_back();
      near.push_back(*next);
    }
    while (!near.empty() && near.front().oldest > i) near.pop_front();
    if (!near.empty()) least[i] = near.front().gain;
  }
  return least;
}

std::vector<Gain> smooth(const std::vector<Item>& items, const std::vector<Gain>& gains, Tick reach) {
  return mean_nearby(items, least_nearby(items, gains, reach), reach);
}

}  // namespace burstloom::guard_detail
