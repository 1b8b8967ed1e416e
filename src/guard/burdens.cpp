#include "burdens.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "burstloom/coil/supply.hpp"
#include "windows.hpp"

namespace burstloom::guard_detail {
namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();
constexpr double kMargin = 1 - 1e-9;  // for sums that the judge may add up in another order
constexpr double kMarginK = 0.02;     // for heat that the judge steps in another way
constexpr double kMemory = 3;         // time constants after which heat is forgotten, near enough
constexpr int kRounds = 6;

Gain gain_of(double ratio) {
  return static_cast<Gain>(std::clamp(ratio, 0.0, 1.0) * static_cast<double>(kUnchanged));
}

double weight_at(const std::vector<double>& weight_of, Tick on) {
  return weight_of[static_cast<std::size_t>(on)];
}

// Turns each item down so that its weight is at most `gain` of what it is.
void apply(std::vector<Item>& items, const std::vector<Gain>& gains, const std::vector<double>& weight_of,
           Tick on_min, Causes cause) {
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (gains[i] >= kUnchanged || items[i].on <= on_min) continue;
    const double most =
        weight_at(weight_of, items[i].on) * static_cast<double>(gains[i]) / static_cast<double>(kUnchanged);
    const Tick on = longest_within(weight_of, most, on_min, items[i].on);
    if (on == items[i].on) continue;
    items[i].on = on;
    items[i].causes |= cause;
  }
}

// A window over starts, as the sum slides along the items: each one enters, the old ones leave.
template <class Each>
void for_each_start_window(const std::vector<Item>& items, Tick window, const std::vector<double>& weight_of,
                           Each each) {
  double sum = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < items.size(); ++i) {
    sum += weight_at(weight_of, items[i].on);
    for (; items[oldest].start <= items[i].start - window; ++oldest)
      sum -= weight_at(weight_of, items[oldest].on);
    each(oldest, i, sum);
  }
}

bool surely_holds(const std::vector<Item>& items, const Burdens::Window& window) {
  return surely_hold(items, window.window, window.most * kMargin,
                     [&](const Item& item) { return weight_at(window.weight_of, item.on); });
}

}  // namespace

Tick longest_within(const std::vector<double>& weight_of, double most, Tick on_min, Tick on) {
  const auto first = weight_of.begin() + static_cast<std::ptrdiff_t>(on_min);
  const auto last = weight_of.begin() + static_cast<std::ptrdiff_t>(on) + 1;
  return on_min + std::max<Tick>(0, static_cast<Tick>(std::upper_bound(first, last, most) - first) - 1);
}

Burdens::Burdens(const Profile& profile, std::int64_t tick_hz, const GateLimits& limits)
    : limits_(limits),
      junction_c_(profile.limits.junction_c.value_or(kNone) - kMarginK),
      heatsink_c_(profile.limits.heatsink_c.value_or(kNone) - kMarginK) {
  const Limits& given = profile.limits;
  if (!given.supply_w && !given.tank_capacitor_a_rms && !given.junction_c && !given.heatsink_c) return;
  const auto table = current_table(profile);
  if (!table->has_model() || limits.on_max < limits.on_min) return;
  const double us_per_tick =
      1e6 / static_cast<double>(tick_hz) * (1 + profile.drive.clock_tolerance_percent / 100);
  const MissingForHeat missing = missing_for_heat(profile);
  const bool judges_sink = missing.heatsink.empty() && (given.heatsink_c || given.junction_c);
  if (judges_sink) heat_.emplace(profile, tick_hz);
  if (!missing.junction.empty()) junction_c_ = kNone;

  // The judge spreads a burst's energy over the burst; counted at its start it needs a window that much
  // longer.
  const Tick second = mean_window_ticks(tick_hz, profile.drive.clock_tolerance_percent) + limits.on_max;
  if (given.supply_w)
    windows_.push_back({second, *given.supply_w * kMeanWindowS * kMargin, {}, bit(Cause::supply)});
  if (given.tank_capacitor_a_rms) {
    const double a = *given.tank_capacitor_a_rms;
    windows_.push_back({second, a * a * kMeanWindowS * kMargin, {}, bit(Cause::tank_current)});
  }
  for (Tick on = 0; on <= limits.on_max; ++on) {
    const BurstFigures figures = table->figures(static_cast<double>(on) * us_per_tick);
    for (Window& window : windows_)
      window.weight_of.push_back(window.cause == bit(Cause::supply)
                                     ? figures.energy_j
                                     : figures.i2t_a2s + figures.i2t_ring_down_a2s);
    if (!heat_) continue;
    power_of_.push_back(on > 0 ? heat_->power(on, figures) : PulsePower{});
    const PulsePower& power = power_of_.back();
    const double loss_j =
        (power.fixed_w + power.resistive_w) * static_cast<double>(on) * heat_->network().seconds_per_tick();
    loss_of_.push_back(on > 0 ? std::max(loss_of_.back(), loss_j) : 0);
  }
  if (!heat_) return;
  bound_heat();
  const auto ticks = [&](double seconds) {
    return static_cast<Tick>(std::min(seconds * static_cast<double>(tick_hz), 1e15));
  };
  double slowest_pair_s = 0;
  for (const FosterPair& pair : profile.switches.foster)
    slowest_pair_s = std::max(slowest_pair_s, pair.tau_s);
  junction_memory_ = ticks(kMemory * slowest_pair_s);
  const Thermal cold(heat_->network());
  sink_memory_ = ticks(kMemory * std::max(cold.time_constant_s(0), cold.time_constant_s(1)));
}

void Burdens::turn_down(Line& line) const {
  for (const Window& window : windows_) turn_down_for(line.items, window);
  if (heat_) turn_down_heat(line.items);
}

// Sums are compared with a little less than is allowed: `turn_down_for` and `enforce_window` add up in other
// orders.
bool Burdens::hold(const std::vector<Item>& items) const {
  for (const Window& window : windows_)
    if (!surely_holds(items, window)) {
      double highest = 0;
      for_each_start_window(items, window.window, window.weight_of,
                            [&](std::size_t, std::size_t, double sum) { highest = std::max(highest, sum); });
      if (highest > window.most * kMargin) return false;
    }
  if (!heat_ || surely_cool(items)) return true;
  Thermal state(heat_->network());
  Tick now = 0;
  for (const Item& item : items) {
    const double peak_c =
        state.gap_and_burst(item.start - now, item.on, power_of_[static_cast<std::size_t>(item.on)]);
    if (!heat_holds(state, peak_c)) return false;
    now = item.end();
  }
  return true;
}

void Burdens::enforce(Line& line) const {
  for (const Window& window : windows_) enforce_window(line, window);
  if (heat_) enforce_heat(line);
}

void Burdens::turn_down_for(std::vector<Item>& items, const Window& window) const {
  if (surely_holds(items, window)) return;
  for (int round = 0; round < kRounds; ++round) {
    std::vector<Asked> asked;
    for_each_start_window(items, window.window, window.weight_of,
                          [&](std::size_t oldest, std::size_t last, double sum) {
                            if (sum > window.most)
                              asked.push_back({oldest, last, gain_of(window.most / sum * (1 - 1e-6))});
                          });
    if (asked.empty()) return;
    apply(items, smooth(items, least_gains(items.size(), asked), window.window / 2), window.weight_of,
          limits_.on_min, window.cause);
  }
}

void Burdens::enforce_window(Line& line, const Window& window) const {
  double sum = 0;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < line.items.size(); ++i) {
    Item& item = line.items[i];
    for (; line.items[oldest].start <= item.start - window.window; ++oldest)
      if (!line.items[oldest].dropped()) sum -= weight_at(window.weight_of, line.items[oldest].on);
    if (sum + weight_at(window.weight_of, item.on) > window.most) {
      item.causes |= window.cause;
      item.on = longest_within(window.weight_of, window.most - sum, limits_.on_min, item.on);
      if (sum + weight_at(window.weight_of, item.on) > window.most) {
        item.drop(window.cause);
        continue;
      }
    }
    sum += weight_at(window.weight_of, item.on);
  }
  line.take_out_dropped();
}

// Each mode rises in proportion to the heat, and by the same heat the more the shorter the burst.
void Burdens::bound_heat() {
  constexpr double kHotter_K = 3;  // than the junction is the resistance taken at, at most (thermal.hpp)
  const ThermalNetwork& network = heat_->network();
  const double factor = network.resistance_factor(std::min(junction_c_, kRunawayC) + kHotter_K);
  for (std::size_t on = 0; on < power_of_.size(); ++on) {
    const PulsePower& power = power_of_[on];
    const double longer = static_cast<double>(on) / static_cast<double>(limits_.on_min);
    most_heat_of_.push_back({(power.fixed_w + power.resistive_w * factor) * longer,
                             (power.mean_fixed_w + power.mean_resistive_w * factor) * longer});
  }
  const auto rises_by = [&](double own_w, double mean_w) {
    Thermal state(network);
    state.set_modes({});
    state.burst(limits_.on_min, {.fixed_w = own_w, .mean_fixed_w = mean_w});
    return state.modes();
  };
  rise_by_own_ = rises_by(1, 0);
  rise_by_mean_ = rises_by(0, 1);
}

// By blocks of bursts: within a block nothing cools, and at its end all of its heat comes at once. So every
// mode is as warm as it gets or warmer, and the junction with them: heat only ever adds to a mode. A sink
// that starts no warmer than the cases on it and no cooler than the air stays so, and never gets past where
// the cases are: it is enough to look at them.
bool Burdens::surely_cool(const std::vector<Item>& items) const {
  constexpr std::size_t kBlock = 16;
  using Modes = std::array<double, kMostModes>;
  const auto cases_k = [](const Modes& modes) { return modes[0] + modes[1]; };
  const double ambient_c = heat_->network().ambient_c();
  const double junction_k = std::min(junction_c_, kRunawayC) - kMarginK - ambient_c;
  const double sink_k = heatsink_c_ - kMarginK - ambient_c;
  Thermal state(heat_->network());
  const double start_k = state.sink_c() - ambient_c;
  if (start_k < 0 || start_k > cases_k(state.modes()) + kMarginK / 2) return false;
  Tick now = 0;
  for (std::size_t first = 0; first < items.size(); first += kBlock) {
    const Tick begin = now;
    Heat heat;
    for (std::size_t i = first; i < std::min(first + kBlock, items.size()); ++i) {
      const Heat& more = most_heat_of_[static_cast<std::size_t>(items[i].on)];
      heat.own_w += more.own_w;
      heat.mean_w += more.mean_w;
      now = std::max(now, items[i].start) + items[i].on;
    }
    Modes hottest = state.modes();
    state.gap(now - begin);
    Modes modes = state.modes();
    for (std::size_t k = 0; k < kMostModes; ++k) {
      const double rise = heat.own_w * rise_by_own_[k] + heat.mean_w * rise_by_mean_[k];
      hottest[k] = std::max(0.0, hottest[k]) + rise;
      modes[k] += rise;
    }
    if (cases_k(hottest) > sink_k || std::accumulate(hottest.begin(), hottest.end(), 0.0) > junction_k)
      return false;
    state.set_modes(modes);
  }
  return true;
}

bool Burdens::may_ask_for_less(const std::vector<Item>& items) const {
  Thermal state(heat_->network());
  Tick now = 0;
  for (const Item& item : items) {
    const double peak_c = state.gap_and_burst(std::max<Tick>(0, item.start - now), item.on,
                                              power_of_[static_cast<std::size_t>(item.on)]);
    if (state.sink_c() > heatsink_c_ || peak_c > junction_c_) return true;
    now = std::max(now, item.start) + item.on;
  }
  return false;
}

// The sink's rise asks the whole past for less; the junction's asks the last moments, or the past as well
// where the case alone takes up more than half of what is allowed.
void Burdens::turn_down_heat(std::vector<Item>& items) const {
  if (surely_cool(items) || !may_ask_for_less(items)) return;
  const double ambient_c = heat_->network().ambient_c();
  for (int round = 0; round < kRounds; ++round) {
    std::vector<Asked> of_junction, of_sink;
    Causes causes = 0;
    Thermal state(heat_->network());
    Tick now = 0;
    std::size_t recent = 0, past = 0;
    for (std::size_t i = 0; i < items.size(); ++i) {
      const Item& item = items[i];
      const double before_c = state.junction_c();
      const double peak_c = state.gap_and_burst(std::max<Tick>(0, item.start - now), item.on,
                                                power_of_[static_cast<std::size_t>(item.on)]);
      now = std::max(now, item.start) + item.on;
      for (; items[recent].start < item.start - junction_memory_; ++recent) {
      }
      for (; items[past].start < item.start - sink_memory_; ++past) {
      }
      if (state.sink_c() > heatsink_c_) {
        of_sink.push_back(
            {past, i, gain_of((heatsink_c_ - ambient_c) / (state.sink_c() - ambient_c) * 0.999)});
        causes |= bit(Cause::heatsink);
      }
      if (peak_c <= junction_c_) continue;
      causes |= bit(Cause::junction);
      const double slow_c = std::min(before_c, state.sink_c()) - ambient_c,
                   allowed_c = junction_c_ - ambient_c;
      const bool is_slow = slow_c > allowed_c / 2;
      const double ratio =
          is_slow ? allowed_c / (peak_c - ambient_c) : (allowed_c - slow_c) / (peak_c - ambient_c - slow_c);
      (is_slow ? of_sink : of_junction).push_back({is_slow ? past : recent, i, gain_of(ratio * 0.999)});
    }
    if (causes == 0) return;
    if (!of_junction.empty())
      apply(items, smooth(items, least_gains(items.size(), of_junction), junction_memory_ / 2), loss_of_,
            limits_.on_min, causes);
    if (!of_sink.empty())
      apply(items, smooth(items, least_gains(items.size(), of_sink), junction_memory_), loss_of_,
            limits_.on_min, causes);
  }
}

// `state` right after a burst that took the junction to `junction_c`. The case goes on heating the sink, so
// the sink's highest is looked for as if nothing came any more: whatever comes is asked the same.
bool Burdens::heat_holds(const Thermal& state, double junction_c) const {
  constexpr double kNear_K = 10;
  if (state.ran_away() || junction_c > junction_c_) return false;
  if (state.sink_c() < heatsink_c_ - kNear_K && state.junction_c() < heatsink_c_) return true;
  Thermal later = state;
  return std::max(state.sink_c(), later.rest(1e12)) <= heatsink_c_;
}

Tick Burdens::longest_that_stays_cool(const Thermal& before, Tick off, Tick on) const {
  const auto holds = [&](Tick tried) {
    Thermal state = before;
    const double peak_c = state.gap_and_burst(off, tried, power_of_[static_cast<std::size_t>(tried)]);
    return heat_holds(state, peak_c);
  };
  if (!holds(limits_.on_min)) return 0;
  Tick low = limits_.on_min, high = on;
  while (high - low > 1) {
    const Tick middle = low + (high - low) / 2;
    (holds(middle) ? low : high) = middle;
  }
  return low;
}

void Burdens::keep_cool(Thermal& state, Tick off, Item& item) const {
  Thermal after = state;
  const double peak_c = after.gap_and_burst(off, item.on, power_of_[static_cast<std::size_t>(item.on)]);
  if (!heat_holds(after, peak_c)) {
    const Causes cause = peak_c > junction_c_ ? bit(Cause::junction) : bit(Cause::heatsink);
    const Tick on = longest_that_stays_cool(state, off, item.on);
    if (on == 0) return item.drop(cause);
    item.causes |= cause;
    item.on = on;
    after = state;
    after.gap_and_burst(off, on, power_of_[static_cast<std::size_t>(on)]);
  }
  state = after;
}

void Burdens::enforce_heat(Line& line) const {
  Thermal state(heat_->network());
  Tick now = 0;
  for (Item& item : line.items) {
    keep_cool(state, item.start - now, item);
    if (!item.dropped()) now = item.end();
  }
  line.take_out_dropped();
}

}  // namespace burstloom::guard_detail
