#include <algorithm>

#include "line.hpp"

namespace burstloom::guard_detail {

Item item_of(const WantedBurst& wanted, std::size_t index, const GateLimits& limits) {
  constexpr Tick kLatest = kEndOfTime / 4;
  Item item{.start = wanted.start,
            .on = std::clamp<Tick>(wanted.on, 0, kLatest) + limits.stretch,
            .cap = std::max<Tick>(wanted.cap, 0),
            .wanted_on = wanted.on,
            .weight = wanted.weight,
            .voice = wanted.voice,
            .wanted = static_cast<std::uint32_t>(index),
            .note = wanted.note};
  if (wanted.start > kLatest || wanted.start < -item.cap) item.drop(bit(Cause::time_range));
  if (wanted.on < 1 || 2 * (item.on - limits.stretch) < limits.on_min - limits.stretch)
    item.drop(bit(Cause::on_time_min));
  if (limits.on_max < limits.on_min) item.drop(bit(limits.on_max_cause));
  if (item.dropped()) return item;
  if (item.on < limits.on_min) item.causes |= bit(Cause::on_time_min);
  if (item.on > limits.on_max) item.causes |= bit(limits.on_max_cause);
  item.on = std::clamp<Tick>(item.on, limits.on_min, limits.on_max);
  return item;
}

LedgerEntry entry_of(const Item& item, Tick stretch) {
  const Tick on = item.on - stretch;
  LedgerEntry entry{.wanted = item.wanted,
                    .note = item.note,
                    .wanted_start = item.wanted_start(),
                    .wanted_on = item.wanted_on,
                    .voice = item.voice};
  entry.lengthened = on > item.wanted_on && item.wanted_on >= 1;
  entry.shortened = on < item.wanted_on;
  entry.shifted = item.moved != 0;
  entry.causes = item.causes & ~Item::kDropped;
  if (entry.shifted) entry.causes |= bit(item.wanted_start() < 0 ? Cause::time_range : Cause::gap);
  if (!item.dropped()) entry.start = item.start, entry.on = on;
  entry.fate = item.dropped()     ? Fate::dropped
               : entry.shifted    ? Fate::shifted
               : entry.shortened  ? Fate::shortened
               : entry.lengthened ? Fate::lengthened
                                  : Fate::kept;
  return entry;
}

}  // namespace burstloom::guard_detail
