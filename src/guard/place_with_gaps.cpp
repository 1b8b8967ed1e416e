// Placement by isotonic regression. With the order fixed, "every gap holds" reads x[i+1] >= x[i] + on[i] +
// gap; subtract the running sum of (on + gap) and it reads z[i+1] >= z[i]. Least squares under that order is
// solved exactly, in linear time, by pool-adjacent-violators (Ayer et al. 1955; Barlow, Bartholomew, Bremner
// and Brunk 1972). Each burst's cap is a bound on its own x; a block's best value is then its mean, clamped
// to the bounds of its members, and the method stays exact as long as some placement keeps all bounds at all.
// That is made sure of first, by the earliest placement there is; where it comes too late for a burst, the
// least weight that makes room goes.
#include <algorithm>

#include "line.hpp"

namespace burstloom::guard_detail {
namespace {

__extension__ using Wide = __int128;  // weight * ticks, summed over a song

Tick earliest_wish(const Item& item) {
  return std::max<Tick>(0, item.start - item.cap);
}
Tick latest_wish(const Item& item) {
  return item.start + item.cap;
}

// The kept items in order, each at the earliest moment that the ones before it leave.
class EarliestPlacement {
 public:
  EarliestPlacement(std::vector<Item>& items, Tick gap) : items_(items), gap_(gap) {}

  void add(std::size_t i) {
    kept_.push_back({i, 0});
    place_from(kept_.size() - 1);
    if (lateness() > 0) make_room();
  }

 private:
  struct Placed {
    std::size_t item;
    Tick at;
  };
  // A burst that must go is looked for among this many before the one that comes too late: what lies further
  // back would not be heard as having to do with it, and the search stays cheap.
  static constexpr std::size_t kLookBack = 48;

  [[nodiscard]] const Item& item(std::size_t k) const { return items_[kept_[k].item]; }
  [[nodiscard]] Tick length(std::size_t k) const { return item(k).on + gap_; }
  [[nodiscard]] Tick lateness() const { return kept_.back().at - latest_wish(item(kept_.size() - 1)); }

  void place_from(std::size_t k) {
    for (; k < kept_.size(); ++k) {
      const Tick free = k == 0 ? 0 : kept_[k - 1].at + length(k - 1);
      kept_[k].at = std::max(earliest_wish(item(k)), free);
    }
  }

  // The items before the last whose going lets the last come earlier by all it needs: back to the first that
  // could not itself come so much earlier.
  [[nodiscard]] std::vector<std::size_t> who_could_go(Tick needed) const {
    std::vector<std::size_t> could;
    for (std::size_t k = kept_.size() - 1; k-- > 0 && could.size() < kLookBack;) {
      if (kept_[k + 1].at - earliest_wish(item(k + 1)) < needed) break;
      could.push_back(k);
    }
    return could;
  }

  // Drops the lightest that together give the last one its room; the last one itself, if that costs less.
  void make_room() {
    const Tick needed = lateness();
    auto could = who_could_go(needed);
    std::stable_sort(could.begin(), could.end(),
                     [&](std::size_t a, std::size_t b) { return item(a).weight < item(b).weight; });
    Tick room = 0;
    std::uint64_t cost = 0;
    std::size_t count = 0;
    for (; count < could.size() && room < needed; ++count) {
      room += length(could[count]);
      cost += item(could[count]).weight;
    }
    if (room < needed || cost >= item(kept_.size() - 1).weight) return drop({kept_.size() - 1});
    could.resize(count);
    drop(std::move(could));
  }

  void drop(std::vector<std::size_t> these) {
    std::sort(these.begin(), these.end());
    for (const std::size_t k : these) items_[kept_[k].item].drop(bit(Cause::gap));
    const auto first = static_cast<std::ptrdiff_t>(these.front());
    kept_.erase(std::remove_if(kept_.begin() + first, kept_.end(),
                               [&](const Placed& placed) { return items_[placed.item].dropped; }),
                kept_.end());
    place_from(these.front());
  }

  std::vector<Item>& items_;
  Tick gap_;
  std::vector<Placed> kept_;
};

// `numerator / denominator` rounded down, for a positive denominator. The short way where it fits: the wide
// division is many times slower.
Tick floor_of(Wide numerator, Wide denominator) {
  const auto floored = [](auto n, auto d) { return static_cast<Tick>(n / d - (n % d < 0 ? 1 : 0)); };
  const auto short_n = static_cast<std::int64_t>(numerator), short_d = static_cast<std::int64_t>(denominator);
  return short_n == numerator && short_d == denominator ? floored(short_n, short_d)
                                                        : floored(numerator, denominator);
}

// Neighbours that stand as close as they may, and so move together.
struct Block {
  std::size_t end = 0;  // one past its last item
  Wide weighted_sum = 0;
  Wide weight = 0;
  Tick low = 0, high = 0;  // where all its members may be

  /// The weighted mean to the nearest tick, as far as the bounds let it.
  [[nodiscard]] Tick best() const {
    return std::clamp(floor_of(2 * weighted_sum + weight, 2 * weight), low, high);
  }

  void join(const Block& next) {
    end = next.end;
    weighted_sum += next.weighted_sum;
    weight += next.weight;
    low = std::max(low, next.low);
    high = std::min(high, next.high);
  }
};

void pool_adjacent_violators(std::vector<Item>& items, Tick gap) {
  struct Pooled {
    Block block;
    Tick at;
  };
  std::vector<Pooled> blocks;
  Tick before = 0;  // running sum of (on + gap)
  for (std::size_t i = 0; i < items.size(); ++i) {
    const Item& item = items[i];
    Block block{i + 1, Wide{item.weight} * (item.start - before), item.weight, earliest_wish(item) - before,
                latest_wish(item) - before};
    Tick at = block.best();
    for (; !blocks.empty() && blocks.back().at > at; blocks.pop_back()) {
      Block joined = blocks.back().block;
      joined.join(block);
      block = joined;
      at = block.best();
    }
    blocks.push_back({block, at});
    before += item.on + gap;
  }
  std::size_t i = 0;
  before = 0;
  for (const Pooled& pooled : blocks)
    for (; i < pooled.block.end; ++i) {
      items[i].start = pooled.at + before;
      before += items[i].on + gap;
    }
}

}  // namespace

void place_with_gaps(Line& line, Tick gap) {
  EarliestPlacement earliest(line.items, gap);
  for (std::size_t i = 0; i < line.items.size(); ++i) earliest.add(i);
  line.take_out_dropped();
  pool_adjacent_violators(line.items, gap);
}

}  // namespace burstloom::guard_detail
