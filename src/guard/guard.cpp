#include "burstloom/guard/guard.hpp"

#include <algorithm>
#include <cstdio>
#include <optional>
#include <utility>

#include "burdens.hpp"
#include "line.hpp"
#include "packed_items.hpp"
#include "windows.hpp"

namespace burstloom {
namespace {

using namespace guard_detail;

// In order of time, without those that cannot be played at all.
void line_up(Line& line) {
  line.take_out_dropped();
  const auto earlier = [](const Item& a, const Item& b) { return a.start < b.start; };
  if (!std::is_sorted(line.items.begin(), line.items.end(), earlier))
    std::stable_sort(line.items.begin(), line.items.end(), earlier);
}

bool is_changed(const Item& item, Tick stretch) {
  return item.dropped() || item.moved != 0 || item.on - stretch != item.wanted_on;
}

// Takes items one after the other, those that play in order of time, and tells what became of them.
class Telling {
 public:
  Telling(std::size_t items, std::size_t changed, Tick stretch) : stretch_(stretch) {
    guarded_.stream.bursts.reserve(items);
    guarded_.wanted_of.reserve(items);
    guarded_.note_of.reserve(items);
    guarded_.voice_of.reserve(items);
    guarded_.ledger.entries.reserve(changed);
  }

  void tell(const Item& item) {
    if (!item.dropped()) {
      guarded_.stream.bursts.push_back({item.start, item.on - stretch_});
      guarded_.wanted_of.push_back(item.wanted);
      guarded_.note_of.push_back(item.note);
      guarded_.voice_of.push_back(item.voice);
    }
    Ledger& ledger = guarded_.ledger;
    ++ledger.wanted;
    if (!is_changed(item, stretch_)) {
      ++ledger.count[static_cast<std::size_t>(Fate::kept)];
      return;
    }
    const LedgerEntry entry = entry_of(item, stretch_);
    ++ledger.count[static_cast<std::size_t>(entry.fate)];
    ledger.entries.push_back(entry);
  }

  // The items came in order of their time, which as a rule is the order they were wanted in; the dropped
  // after them.
  [[nodiscard]] Guarded told(std::int64_t tick_hz, Tick length) {
    BurstStream& stream = guarded_.stream;
    stream.tick_hz = tick_hz;
    stream.length = std::clamp<Tick>(length, 0, kEndOfTime / 2);
    if (!stream.bursts.empty()) stream.length = std::max(stream.length, stream.bursts.back().end());
    const auto in_order = [](const LedgerEntry& a, const LedgerEntry& b) { return a.wanted < b.wanted; };
    auto& entries = guarded_.ledger.entries;
    const auto dropped = std::find_if(entries.begin(), entries.end(),
                                      [](const LedgerEntry& entry) { return entry.fate == Fate::dropped; });
    if (!std::is_sorted(entries.begin(), dropped, in_order)) std::sort(entries.begin(), dropped, in_order);
    std::sort(dropped, entries.end(), in_order);
    std::inplace_merge(entries.begin(), dropped, entries.end(), in_order);
    return std::move(guarded_);
  }

 private:
  Guarded guarded_;
  Tick stretch_;
};

std::size_t changed_in(const Line& line, Tick stretch) {
  return line.gone.size() +
         static_cast<std::size_t>(std::count_if(line.items.begin(), line.items.end(),
                                                [&](const Item& item) { return is_changed(item, stretch); }));
}

template <class Take>
void for_each_item(const Line& line, Take take) {
  for (const Item& item : line.items) take(item);
  for (const Item& item : line.gone) take(item);
}

}  // namespace

std::string names_of(Causes causes, const Limits& limits) {
  std::string names;
  const auto add = [&](bool applies, const std::string& name) {
    if (applies) names += (names.empty() ? "" : ", ") + name;
  };
  constexpr std::pair<Cause, const char*> named[] = {{Cause::on_time_min, "on-time min"},
                                                     {Cause::on_time_max, "on-time max"},
                                                     {Cause::peak_current, "peak current"},
                                                     {Cause::tank_voltage, "tank capacitor voltage"},
                                                     {Cause::switch_voltage, "switch voltage"},
                                                     {Cause::gap, "gap"},
                                                     {Cause::break_rate, "break rate"},
                                                     {Cause::time_range, "start of the song"},
                                                     {Cause::supply, "supply"},
                                                     {Cause::tank_current, "tank capacitor current"},
                                                     {Cause::junction, "junction"},
                                                     {Cause::heatsink, "heatsink"}};
  for (const auto& [cause, name] : named) add((causes & bit(cause)) != 0, name);
  for (std::size_t i = 0; i < limits.duty.size(); ++i) {
    char name[48];
    std::snprintf(name, sizeof name, "duty %.10g ms", limits.duty[i].window_ms);
    add((causes & bit(Cause::duty, i)) != 0, name);
  }
  return names;
}

std::vector<std::string> limit_names(const Limits& limits) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < static_cast<std::size_t>(Cause::duty) + limits.duty.size(); ++i)
    names.push_back(names_of(Causes{1} << i, limits));
  return names;
}

namespace {

void hold_back(Line& line, const GateLimits& limits, const Burdens& burdens) {
  thin_out(line, limits);
  turn_down(line, limits);
  burdens.turn_down(line);
}

// Whether nothing is left to hold back or to enforce: one look at each limit instead of two or three.
bool all_hold(const Line& line, const GateLimits& limits, const Burdens& burdens) {
  const auto held = [&](const DutyBudget& budget) { return holds(line.items, budget); };
  return starts_hold(line.items, limits) && std::all_of(limits.duty.begin(), limits.duty.end(), held) &&
         burdens.hold(line.items);
}

void place_ahead(Line& line, const GateLimits& limits, const Burdens& burdens) {
  hold_back(line, limits, burdens);
  place_with_gaps(line, limits.gap);
  // The same once more on the places that the bursts have now; as a rule there is nothing left to do.
  if (all_hold(line, limits, burdens)) return;
  hold_back(line, limits, burdens);
  enforce_duty(line, limits);
  burdens.enforce(line);
}

// Where bursts are still to be held back on their new places, their on-times change, and with them what has
// to wait: the shorter bursts are woven anew from where they were wanted.
void place_causally(Line& line, const GateLimits& limits, const Burdens& burdens) {
  constexpr int kRounds = 4;
  const auto sizes_of = [](const std::vector<Item>& items) {
    std::vector<std::pair<std::uint32_t, Tick>> sizes;
    for (const Item& item : items) sizes.push_back({item.wanted, item.on});
    return sizes;
  };
  hold_back(line, limits, burdens);
  for (int round = 0; round < kRounds; ++round) {
    for (Item& item : line.items) item.move_to(item.wanted_start());
    weave_causally(line, limits);
    if (all_hold(line, limits, burdens)) return;
    const auto woven = sizes_of(line.items);
    hold_back(line, limits, burdens);
    enforce_duty(line, limits);
    burdens.enforce(line);
    if (sizes_of(line.items) == woven) return;
  }
}

// The limits of a profile, and how a line is brought inside them.
class Guard {
 public:
  Guard(const Profile& profile, std::int64_t tick_hz)
      : limits(gate_limits(profile, tick_hz)), burdens_(profile, tick_hz, limits) {}

  void place(Line& line, Placing placing) const {
    line_up(line);
    if (placing == Placing::causal)
      place_causally(line, limits, burdens_);
    else
      place_ahead(line, limits, burdens_);
  }

  const GateLimits limits;

 private:
  Burdens burdens_;
};

}  // namespace

Guarded place(const std::vector<WantedBurst>& wanted, const Profile& profile, std::int64_t tick_hz,
              Tick length, Placing placing) {
  require_tick_rate(tick_hz);
  const Guard guard(profile, tick_hz);
  Line line;
  line.items.reserve(wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) line.items.push_back(item_of(wanted[i], i, guard.limits));
  guard.place(line, placing);
  Telling telling(line.items.size(), changed_in(line, guard.limits.stretch), guard.limits.stretch);
  for_each_item(line, [&](const Item& item) { telling.tell(item); });
  return telling.told(tick_hz, length);
}

// Wanted bursts, the line and the outcome are not in memory together: what is to come waits packed until what
// was is gone.
Guarded guard_detail::place_packed(std::vector<WantedBurst>&& wanted, const Profile& profile,
                                   std::int64_t tick_hz, Tick length, Placing placing) {
  require_tick_rate(tick_hz);
  const Guard guard(profile, tick_hz);
  std::optional<PackedItems> packed(wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) packed->add(item_of(wanted[i], i, guard.limits));
  std::vector<WantedBurst>().swap(wanted);

  std::optional<Line> line(std::in_place);
  line->items.reserve(packed->size());
  packed->for_each([&](const Item& item) { line->items.push_back(item); });
  packed.reset();
  guard.place(*line, placing);

  packed.emplace(line->items.size() + line->gone.size());
  for_each_item(*line, [&](const Item& item) { packed->add(item); });
  Telling telling(line->items.size(), changed_in(*line, guard.limits.stretch), guard.limits.stretch);
  line.reset();
  packed->for_each([&](const Item& item) { telling.tell(item); });
  return telling.told(tick_hz, length);
}

Guarded place(std::vector<WantedBurst>&& wanted, const Profile& profile, std::int64_t tick_hz, Tick length,
              Placing placing) {
  constexpr std::size_t kWorthPacking = 1 << 19;  // some 50 MB; packing takes as long again as placing
  return wanted.size() < kWorthPacking
             ? place(std::as_const(wanted), profile, tick_hz, length, placing)
             : guard_detail::place_packed(std::move(wanted), profile, tick_hz, length, placing);
}

}  // namespace burstloom
