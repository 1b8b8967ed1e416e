// Placement by isotonic regression. With the order fixed, "every gap holds" reads x[i+1] >= x[i] + on[i] +
// gap; subtract the running sum of (on + gap) and it reads z[i+1] >= z[i]. Least squares under that order is
// solved exactly, in linear time, by pool-adjacent-violators (Ayer et al. 1955; Barlow, Bartholomew, Bremner
// and Brunk 1972). Each burst's cap is a bound on its own x; a block's best value is then its mean, clamped
// to the bounds of its members, and the method stays exact as long as some placement keeps all bounds at all.
// That is made sure of first, by the earliest placement there is; where it comes too late for a burst, the
// least weight that makes room goes.
//
// Both are done cluster by cluster: where the caps keep all bursts before a moment from touching any after
// it, the line falls apart, and the work stays in the processor's cache.
#include <algorithm>
#include <array>
#include <cmath>

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

// The kept items of a cluster in order, each at the earliest moment that the ones before it leave.
class EarliestPlacement {
 public:
  EarliestPlacement(std::vector<Item>& items, Tick gap) : items_(items), gap_(gap) {}

  void add(std::size_t i) {
    kept_.push_back({i, 0});
    place_from(kept_.size() - 1);
    if (lateness() > 0) make_room();
  }
  /// What was added so far is settled. After it the items [before, first) stand, and were not added; the next
  /// cluster may still come up to them: its first may go, and those behind it have a longer reach.
  void begin_cluster(std::size_t before, std::size_t first) {
    if (!kept_.empty()) free_ = kept_.back().at + length(kept_.size() - 1);
    kept_.clear();
    for (; before < first; ++before)
      free_ = std::max(free_, earliest_wish(items_[before])) + items_[before].on + gap_;
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
      const Tick free = k == 0 ? free_ : kept_[k - 1].at + length(k - 1);
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
                               [&](const Placed& placed) { return items_[placed.item].dropped(); }),
                kept_.end());
    place_from(these.front());
  }

  std::vector<Item>& items_;
  Tick gap_;
  Tick free_ = 0;  // when the clusters before leave the coil free
  std::vector<Placed> kept_;
};

// Calls `settle(before, first, end)` for each cluster [first, end) in which not every gap holds as things
// are: where all do, the bursts stand best where they are. [before, first) is the cluster before it if that
// stands.
template <class Settle>
void by_clusters(const std::vector<Item>& items, Tick gap, Settle settle) {
  std::size_t before = 0, first = 0;
  bool stands = true;
  Tick free = 0;      // when the coil is free again however late the bursts before may come
  Tick free_now = 0;  // and as things are
  for (std::size_t i = 0; i < items.size(); ++i) {
    const Item& item = items[i];
    if (earliest_wish(item) >= free) {
      if (!stands) settle(before, first, i);
      before = stands ? first : i;
      first = i;
      stands = true;
    }
    stands &= item.start >= free_now;
    free_now = item.start + item.on + gap;
    free = std::max(free, latest_wish(item) + item.on + gap);
  }
  if (!stands) settle(before, first, items.size());
}

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

// Moves a cluster's items to where they stand best.
class Pooling {
 public:
  Pooling(std::vector<Item>& items, Tick gap) : items_(items), gap_(gap) {}

  /// Settles a cluster, the items [first, end).
  void settle(std::size_t first, std::size_t end) {
    blocks_.clear();
    Tick before = 0;  // running sum of (on + gap) over the cluster
    for (std::size_t i = first; i < end; ++i) {
      const Item& item = items_[i];
      const Wide weight = inertia(item);
      pool({i + 1, weight * (item.start - before), weight, earliest_wish(item) - before,
            latest_wish(item) - before});
      before += item.on + gap_;
    }
    before = 0;
    for (const auto& [block, at] : blocks_)
      for (; first < block.end; ++first) {
        items_[first].move_to(at + before);
        before += items_[first].on + gap_;
      }
  }

 private:
  struct Pooled {
    Block block;
    Tick at;
  };

  void pool(Block block) {
    Tick at = block.best();
    for (; !blocks_.empty() && blocks_.back().at > at; blocks_.pop_back()) {
      Block joined = blocks_.back().block;
      joined.join(block);
      block = joined;
      at = block.best();
    }
    blocks_.push_back({block, at});
  }

  std::vector<Item>& items_;
  Tick gap_;
  std::vector<Pooled> blocks_;
};

void drop_what_has_no_room(Line& line, Tick gap) {
  EarliestPlacement earliest(line.items, gap);
  by_clusters(line.items, gap, [&](std::size_t before, std::size_t first, std::size_t end) {
    earliest.begin_cluster(before, first);
    for (std::size_t i = first; i < end; ++i) earliest.add(i);
  });
  line.take_out_dropped();
}

void move_least(std::vector<Item>& items, Tick gap) {
  Pooling pooling(items, gap);
  by_clusters(items, gap,
              [&](std::size_t, std::size_t first, std::size_t end) { pooling.settle(first, end); });
}

}  // namespace

// A song's bursts have few weights, and the root is slow: the last ones are remembered.
std::uint32_t inertia(const Item& item) {
  struct Known {
    std::uint32_t weight = 0, inertia = 0;
  };
  thread_local std::array<Known, 64> known_roots;
  Known& known = known_roots[item.weight % known_roots.size()];
  if (known.weight != item.weight)
    known = {item.weight,
             static_cast<std::uint32_t>(std::lround(16 * std::cbrt(std::uint32_t{item.weight})))};
  return known.inertia;
}

void place_with_gaps(Line& line, Tick gap) {
  drop_what_has_no_room(line, gap);
  move_least(line.items, gap);
}

}  // namespace burstloom::guard_detail
