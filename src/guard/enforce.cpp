#include "windows.hpp"

namespace burstloom::guard_detail {
namespace {

// The items kept so far, with running sums of their on-times, and a hand that follows the window's start.
class Kept {
 public:
  explicit Kept(const std::vector<Item>& items) : items_(items) {}

  void add(std::size_t i) {
    kept_.push_back(i);
    sums_.push_back(sums_.back() + items_[i].on);
  }

  struct Since {
    Tick content = 0;  // on-time at or after a moment
    Tick cut = 0;      // of the burst that the moment cuts, the part before it
  };

  // The hand moves to the first item that reaches past `from`; it moves little, as `from` goes with the
  // items.
  Since since(Tick from) {
    while (hand_ > 0 && items_[kept_[hand_ - 1]].end() > from) --hand_;
    while (hand_ < kept_.size() && items_[kept_[hand_]].end() <= from) ++hand_;
    if (hand_ == kept_.size()) return {};
    const Item& oldest = items_[kept_[hand_]];
    const Tick cut = std::clamp<Tick>(from - oldest.start, 0, oldest.on);
    return {sums_.back() - sums_[hand_] - cut, cut};
  }

 private:
  const std::vector<Item>& items_;
  std::vector<std::size_t> kept_;
  std::vector<Tick> sums_{0};
  std::size_t hand_ = 0;
};

// The longest on-time up to `item.on` for which the window that ends with the item holds. A shorter burst
// ends earlier, so its window reaches further back: while that uncovers a burst it was cutting, nothing is
// won, so the next try is the one that has all of that burst inside and then gives up the excess.
Tick longest_that_holds(const Item& item, const DutyBudget& budget, Kept& kept) {
  Tick on = item.on;
  while (on > 0) {
    const auto [content, cut] = kept.since(item.start + on - budget.window);
    const Tick excess = on + content - budget.allowance;
    if (excess <= 0) break;
    on -= excess + cut;
  }
  return on;
}

void enforce_one(Line& line, const DutyBudget& budget, Tick on_min, Causes cause) {
  if (holds(line.items, budget)) return;
  Kept kept(line.items);
  for (std::size_t i = 0; i < line.items.size(); ++i) {
    Item& item = line.items[i];
    const Tick on = longest_that_holds(item, budget, kept);
    if (on < item.on) item.causes |= cause;
    if (on < on_min) {
      item.dropped = true;
      continue;
    }
    item.on = on;
    kept.add(i);
  }
  line.take_out_dropped();
}

}  // namespace

void enforce_duty(Line& line, const GateLimits& limits) {
  // Trimming and dropping only take on-time away, so a window that holds goes on holding.
  for (std::size_t i = 0; i < limits.duty.size(); ++i)
    enforce_one(line, limits.duty[i], limits.on_min, bit(Cause::duty, i));
}

}  // namespace burstloom::guard_detail
