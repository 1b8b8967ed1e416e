#include "burstloom/guard/guard.hpp"

#include <algorithm>
#include <cstdio>
#include <utility>

#include "burdens.hpp"
#include "line.hpp"
#include "windows.hpp"

namespace burstloom {
namespace {

using namespace guard_detail;

Line line_up(const std::vector<WantedBurst>& wanted, const GateLimits& limits) {
  Line line;
  line.items.reserve(wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) line.items.push_back(item_of(wanted[i], i, limits));
  line.take_out_dropped();
  const auto earlier = [](const Item& a, const Item& b) { return a.start < b.start; };
  if (!std::is_sorted(line.items.begin(), line.items.end(), earlier))
    std::stable_sort(line.items.begin(), line.items.end(), earlier);
  return line;
}

Ledger write_ledger(const Line& line, const std::vector<WantedBurst>& wanted, Tick stretch) {
  Ledger ledger;
  ledger.wanted = static_cast<std::int64_t>(wanted.size());
  const auto enter = [&](const Item& item) {
    const LedgerEntry entry = entry_of(item, wanted[item.wanted], stretch);
    ++ledger.count[static_cast<std::size_t>(entry.fate)];
    if (entry.fate != Fate::kept) ledger.entries.push_back(entry);
  };
  const auto in_order = [](const LedgerEntry& a, const LedgerEntry& b) { return a.wanted < b.wanted; };
  const auto changed = [&](const Item& item) {
    return item.start != wanted[item.wanted].start || item.on - stretch != wanted[item.wanted].on;
  };
  ledger.entries.reserve(line.gone.size() + static_cast<std::size_t>(std::count_if(
                                                line.items.begin(), line.items.end(), changed)));
  std::for_each(line.items.begin(), line.items.end(), enter);
  const auto of_items = static_cast<std::ptrdiff_t>(ledger.entries.size());
  std::for_each(line.gone.begin(), line.gone.end(), enter);
  // The items come in order of their time, which as a rule is the order they were wanted in.
  auto& entries = ledger.entries;
  if (!std::is_sorted(entries.begin(), entries.begin() + of_items, in_order))
    std::sort(entries.begin(), entries.begin() + of_items, in_order);
  std::sort(entries.begin() + of_items, entries.end(), in_order);
  std::inplace_merge(entries.begin(), entries.begin() + of_items, entries.end(), in_order);
  return ledger;
}

Guarded finished(const Line& line, const std::vector<WantedBurst>& wanted, const GateLimits& limits,
                 std::int64_t tick_hz, Tick length) {
  Guarded result{{tick_hz, std::clamp<Tick>(length, 0, kEndOfTime / 2), {}}, {}, {}};
  result.stream.bursts.reserve(line.items.size());
  result.wanted_of.reserve(line.items.size());
  for (const Item& item : line.items) {
    result.stream.bursts.push_back({item.start, item.on - limits.stretch});
    result.wanted_of.push_back(item.wanted);
  }
  if (!result.stream.bursts.empty())
    result.stream.length = std::max(result.stream.length, result.stream.bursts.back().end());
  result.ledger = write_ledger(line, wanted, limits.stretch);
  return result;
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
void place_causally(Line& line, const GateLimits& limits, const Burdens& burdens,
                    const std::vector<WantedBurst>& wanted) {
  constexpr int kRounds = 4;
  const auto sizes_of = [](const std::vector<Item>& items) {
    std::vector<std::pair<std::uint32_t, Tick>> sizes;
    for (const Item& item : items) sizes.push_back({item.wanted, item.on});
    return sizes;
  };
  hold_back(line, limits, burdens);
  for (int round = 0; round < kRounds; ++round) {
    for (Item& item : line.items) item.start = wanted[item.wanted].start;
    weave_causally(line, limits);
    if (all_hold(line, limits, burdens)) return;
    const auto woven = sizes_of(line.items);
    hold_back(line, limits, burdens);
    enforce_duty(line, limits);
    burdens.enforce(line);
    if (sizes_of(line.items) == woven) return;
  }
}

}  // namespace

Guarded place(const std::vector<WantedBurst>& wanted, const Profile& profile, std::int64_t tick_hz,
              Tick length, Placing placing) {
  require_tick_rate(tick_hz);
  const GateLimits limits = gate_limits(profile, tick_hz);
  const Burdens burdens(profile, tick_hz, limits);
  Line line = line_up(wanted, limits);
  if (placing == Placing::causal)
    place_causally(line, limits, burdens, wanted);
  else
    place_ahead(line, limits, burdens);
  return finished(line, wanted, limits, tick_hz, length);
}

}  // namespace burstloom
