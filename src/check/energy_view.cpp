#include "energy_view.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace burstloom::judge_detail {
namespace {

constexpr double kDiodeDrop_v = 1.5;   // of the ring-down's path; from memory, 0.8 to 2 V in data sheets
constexpr double kCase_j_per_k = 0.3;  // where the profile gives none; from memory, under a TO-220's
constexpr double kLost_c = 300;        // past this a junction is lost
constexpr double kLeast = 1e-6;        // a resistance or capacity of nothing, so that all stays finite
constexpr double kSecond_s = 1;        // the window of supply power and tank current
constexpr double kDay_s = 86'400;

bool is_igbt(const Profile& profile) {
  return profile.switches.kind == SwitchKind::igbt;
}

// What one of two positions carries of a sum over half cycles that take turns: half, and for the worse one at
// most half of the largest half cycle more.
struct Share {
  double mean = 0, worst = 0;
};
Share of_turns(double whole, double largest) {
  return {whole / 2, whole / 2 + std::min(whole, largest) / 2};
}

struct Lost {
  double fixed_j = 0, resistive_j = 0;
};

// One position's parallel switches share all alike. MOSFET: Rds(on) i^2 t, 0.5 V I (rise + fall) a
// commutation and 0.5 V I fall for the burst's end; IGBT: saturation and slope, the whole switching energy
// for every on and off. The ring-down goes through diodes.
Lost lost_in_switch(const Profile& profile, const BurstFigures& f, double i2t, double charge,
                    double commutations, double ring_i2t, double ring_charge) {
  const Switch& s = profile.switches;
  const double n = s.parallel;
  if (is_igbt(profile)) {
    const double slope = *s.vce_slope_mohm / 1e3;
    return {*s.vce_sat_v * charge / n + slope * i2t / n / n +
                std::max(kDiodeDrop_v, *s.vce_sat_v) * ring_charge / n + slope * ring_i2t / n / n +
                *s.switching_uj / 1e6 * (commutations + 1),
            0};
  }
  const double volts =
      f.switch_v > 0 ? f.switch_v : *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100);
  const double at_end = profile.drive.stops_at_zero ? 0 : f.peak_current_a * *s.fall_ns;
  const double switching_j =
      volts / 2 * 1e-9 * (commutations * f.commutation_current_a * (*s.rise_ns + *s.fall_ns) + at_end);
  return {(switching_j + kDiodeDrop_v * ring_charge) / n, *s.rds_on_mohm / 1e3 * i2t / n / n};
}

void set_losses(const Profile& profile, const BurstFigures& f, BurstCost& cost) {
  const bool sine = profile.drive.primary == PrimaryKind::series_resonant;
  const double half_cycle_s = f.on_time_us * 1e-6 / std::max(1.0, f.half_cycles);
  const double largest_charge = f.peak_current_a * half_cycle_s * (sine ? 2 / M_PI : 1);
  const double largest_i2t = f.peak_current_a * f.peak_current_a * half_cycle_s * (sine ? 0.5 : 1);
  const double all_charge = f.charge_c > 0 ? f.charge_c : std::sqrt(f.i2t_a2s * f.on_time_us * 1e-6);
  const Share i2t = of_turns(f.i2t_a2s, largest_i2t), charge = of_turns(all_charge, largest_charge);
  const Share commutations = of_turns(f.half_cycles, 1);
  Share ring_i2t = of_turns(f.i2t_ring_down_a2s, largest_i2t),
        ring_charge = of_turns(f.charge_ring_down_c, largest_charge);
  if (profile.drive.ring_down == RingDown::freewheel) {  // all of it may go through one position
    ring_i2t.worst = f.i2t_ring_down_a2s;
    ring_charge.worst = f.charge_ring_down_c;
  }
  const Lost hottest = lost_in_switch(profile, f, i2t.worst, charge.worst, commutations.worst, ring_i2t.worst,
                                      ring_charge.worst);
  Lost mean =
      lost_in_switch(profile, f, i2t.mean, charge.mean, commutations.mean, ring_i2t.mean, ring_charge.mean);
  // If fewer switches than the bridge has share the sink, they may be its hot ones.
  const double in_bridge = (profile.drive.bridge == Bridge::full ? 4.0 : 2.0) * profile.switches.parallel;
  const double crowd = std::max(1.0, in_bridge / profile.switches.on_one_sink);
  mean = {std::min(hottest.fixed_j, mean.fixed_j * crowd),
          std::min(hottest.resistive_j, mean.resistive_j * crowd)};
  cost.hottest_fixed_j = hottest.fixed_j;
  cost.hottest_resistive_j = hottest.resistive_j;
  cost.mean_fixed_j = mean.fixed_j;
  cost.mean_resistive_j = mean.resistive_j;
}

std::string missing(const std::vector<std::pair<const char*, bool>>& keys) {
  std::string list;
  for (const auto& [key, given] : keys)
    if (!given) list += (list.empty() ? "missing: " : ", ") + std::string(key);
  return list;
}

// The most that windows of `window` ticks hold of what intervals weigh, evenly spread over each.
template <class WeightOf>
Worst heaviest_window(const std::vector<Interval>& gate, Tick window, WeightOf weight_of) {
  Worst worst;
  double whole = 0;
  std::size_t oldest = 0;
  for (const Interval& now : gate) {
    whole += weight_of(now);
    const Tick from = now.end - window;
    for (; gate[oldest].end <= from; ++oldest) whole -= weight_of(gate[oldest]);
    const Interval& cut = gate[oldest];
    const double outside =
        from > cut.start ? static_cast<double>(from - cut.start) / static_cast<double>(cut.end - cut.start)
                         : 0;
    worst.see(whole - outside * weight_of(cut), now.end);
  }
  return worst;
}

}  // namespace

EnergyGrounds energy_grounds(const Profile& profile, const CurrentTable& table) {
  EnergyGrounds grounds;
  grounds.why_no_model = table.why_no_model();
  const Switch& s = profile.switches;
  const Heatsink& sink = profile.heatsink;
  std::vector<std::pair<const char*, bool>> keys;
  if (is_igbt(profile))
    keys = {{"switch.vce_sat_v", s.vce_sat_v.has_value()},
            {"switch.vce_slope_mohm", s.vce_slope_mohm.has_value()},
            {"switch.switching_uj", s.switching_uj.has_value()}};
  else
    keys = {{"switch.rds_on_mohm", s.rds_on_mohm.has_value()},
            {"switch.rds_on_factor_at_150c", s.rds_on_factor_at_150c.has_value()},
            {"switch.rise_ns", s.rise_ns.has_value()},
            {"switch.fall_ns", s.fall_ns.has_value()}};
  keys.insert(keys.end(),
              {{"heatsink.case_to_sink_k_per_w", sink.case_to_sink_k_per_w.has_value()},
               {"heatsink.sink_to_ambient_k_per_w", sink.sink_to_ambient_k_per_w.has_value()},
               {"heatsink.sink_heat_capacity_j_per_k", sink.sink_heat_capacity_j_per_k.has_value()}});
  grounds.why_no_sink = missing(keys);
  grounds.why_no_junction = missing({{"switch.foster", !s.foster.empty()}});
  return grounds;
}

double Warmth::junction_k() const {
  return std::accumulate(foster.begin(), foster.end(), case_k + case_excess_k);
}

// What is left of each difference after some time; for case and sink a matrix, as they warm each other.
struct EnergyView::Decay {
  std::vector<double> foster;
  double case_excess = 1;
  double cc = 1, cs = 0, sc = 0, ss = 1;
};

EnergyView::EnergyView(const std::vector<Interval>& gate, Tick length, std::int64_t tick_hz,
                       const Profile& profile, const CurrentTable& table, const TickLimits& limits,
                       double longer_us)
    : gate_(gate),
      length_(length),
      tick_hz_(tick_hz),
      profile_(profile),
      table_(table),
      limits_(limits),
      longer_us_(longer_us),
      heats_(energy_grounds(profile, table).has_sink()),
      judges_junction_(energy_grounds(profile, table).has_junction()),
      seconds_per_tick_((1 - limits.clock) / static_cast<double>(tick_hz)) {
  if (!heats_) return;
  const Heatsink& sink = profile.heatsink;
  case_c_ = std::max(kLeast, sink.case_heat_capacity_j_per_k.value_or(kCase_j_per_k));
  sink_c_ = std::max(kLeast, *sink.sink_heat_capacity_j_per_k);
  to_sink_ = std::max(kLeast, *sink.case_to_sink_k_per_w);
  to_ambient_ = std::max(kLeast, *sink.sink_to_ambient_k_per_w);
  on_sink_ = profile.switches.on_one_sink;
  const double a = -1 / (to_sink_ * case_c_), c = on_sink_ / (to_sink_ * sink_c_),
               d = -c - 1 / (to_ambient_ * sink_c_);
  slowest_rate_ = (a + d) / 2 + std::sqrt(std::max(0.0, (a + d) * (a + d) / 4 - (a * d + a * c)));
}

const BurstCost& EnergyView::cost_of(Tick on) {
  const auto [place, is_new] = costs_.try_emplace(on);
  if (!is_new) return place->second;
  const double on_us = std::max(0.0, static_cast<double>(on) / limits_.ticks_per_us * (1 + limits_.clock) +
                                         limits_.stretch_us + longer_us_);
  const BurstFigures figures = table_.figures(on_us);
  BurstCost& cost = place->second;
  cost = {.energy_j = figures.energy_j,
          .i2t_a2s = figures.i2t_a2s + figures.i2t_ring_down_a2s,
          .tank_v = figures.tank_capacitor_v,
          .switch_v = figures.switch_v};
  if (heats_) set_losses(profile_, figures, cost);
  return cost;
}

EnergyView::Decay EnergyView::decay(double seconds) const {
  Decay decay;
  for (const FosterPair& pair : profile_.switches.foster)
    decay.foster.push_back(std::exp(-seconds / pair.tau_s));
  decay.case_excess = std::exp(-seconds / (to_sink_ * case_c_));
  // d/dt (case, sink) = A (case, sink) without heat; exp(A t) by the two eigenvalues m + q and m - q of a 2x2
  // matrix.
  const double a = -1 / (to_sink_ * case_c_), b = -a;
  const double c = on_sink_ / (to_sink_ * sink_c_), d = -c - 1 / (to_ambient_ * sink_c_);
  const double m = (a + d) / 2, q = std::sqrt(std::max(0.0, m * m - (a * d - b * c)));
  const double slow = std::exp((m + q) * seconds), fast = std::exp((m - q) * seconds);
  const double even = (slow + fast) / 2;
  const double odd = q > 0 ? (slow - fast) / (2 * q) : seconds * slow;
  decay.cc = even + odd * (a - m);
  decay.cs = odd * b;
  decay.sc = odd * c;
  decay.ss = even + odd * (d - m);
  return decay;
}

Warmth EnergyView::cold() const {
  Warmth warmth{.foster = std::vector<double>(profile_.switches.foster.size(), 0.0)};
  const Heatsink& sink = profile_.heatsink;
  const double start_c = sink.start_c.value_or(sink.ambient_c);
  warmth.sink_k = start_c - sink.ambient_c;
  warmth.case_k = sink.case_start_c.value_or(start_c) - sink.ambient_c;
  return warmth;
}

// Towards where constant heat would bring it in the end: exact for constant heat, however long.
void EnergyView::step(Warmth& w, const Decay& decay, double hottest_w, double mean_w) const {
  for (std::size_t k = 0; k < w.foster.size(); ++k) {
    const double end = hottest_w * profile_.switches.foster[k].r_k_per_w;
    w.foster[k] = end + (w.foster[k] - end) * decay.foster[k];
  }
  const double excess_end = (hottest_w - mean_w) * to_sink_;
  w.case_excess_k = excess_end + (w.case_excess_k - excess_end) * decay.case_excess;
  const double sink_end = on_sink_ * mean_w * to_ambient_, case_end = sink_end + mean_w * to_sink_;
  const double case_off = w.case_k - case_end, sink_off = w.sink_k - sink_end;
  w.case_k = case_end + decay.cc * case_off + decay.cs * sink_off;
  w.sink_k = sink_end + decay.sc * case_off + decay.ss * sink_off;
}

// Returns the junction's temperature (C) at the burst's end, where it is hottest; the resistance is the one
// it has there.
double EnergyView::burst(Warmth& warmth, double seconds, const BurstCost& cost) const {
  const Decay decayed = decay(seconds);
  const double ambient = profile_.heatsink.ambient_c;
  const double base = profile_.switches.rds_on_factor_at_150c.value_or(1);
  const auto resistance_at = [&](double junction_c) {
    return std::pow(base, (std::clamp(junction_c, -100.0, kLost_c) - 25) / 125);
  };
  double factor = judges_junction_    ? resistance_at(ambient + warmth.junction_k())
                  : is_igbt(profile_) ? 1
                                      : base;
  Warmth after = warmth;
  for (int round = 0; round < 50; ++round) {
    after = warmth;
    step(after, decayed, (cost.hottest_fixed_j + cost.hottest_resistive_j * factor) / seconds,
         (cost.mean_fixed_j + cost.mean_resistive_j * factor) / seconds);
    if (!judges_junction_ || is_igbt(profile_)) break;
    const double there = resistance_at(ambient + after.junction_k());
    if (std::abs(there - factor) < 1e-9 * factor) break;
    factor = there;
  }
  warmth = std::move(after);
  return ambient + warmth.junction_k();
}

EnergyView::Pass EnergyView::play(const Warmth& start) {
  const double ambient = profile_.heatsink.ambient_c;
  Pass pass;
  pass.end = start;
  pass.junction_c.see(ambient + start.junction_k(), 0);
  pass.heatsink_c.see(ambient + start.sink_k, 0);
  Tick now = 0;
  const auto rest_until = [&](Tick until) {
    // In a long silence the case goes on warming the sink for a while: look at it on the way.
    const double seconds = static_cast<double>(until - now) * seconds_per_tick_;
    const int parts = seconds > 0.05 * to_sink_ * case_c_ ? 20 : 1;
    const Decay decayed = decay(seconds / parts);
    for (int i = 0; i < parts; ++i) {
      step(pass.end, decayed, 0, 0);
      pass.heatsink_c.see(ambient + pass.end.sink_k, until);
    }
    now = until;
  };
  for (const Interval& interval : gate_) {
    if (interval.start > now) rest_until(interval.start);
    const Tick end = interval.end + limits_.stretch;
    const double peak = burst(pass.end, static_cast<double>(end - interval.start) * seconds_per_tick_,
                              cost_of(interval.end - interval.start));
    pass.junction_c.see(peak, end);
    pass.heatsink_c.see(ambient + pass.end.sink_k, end);
    pass.ran_away |= peak > kLost_c;
    now = end;
  }
  if (length_ > now) rest_until(length_);
  // After the last burst the sink may still rise.
  Warmth after = pass.end;
  const Decay decayed = decay(to_sink_ * case_c_ / 10);
  for (int i = 0; i < 50; ++i) {
    step(after, decayed, 0, 0);
    pass.heatsink_c.see(ambient + after.sink_k, length_);
  }
  return pass;
}

void EnergyView::see_windows(EnergyFigures& figures) {
  const Tick second =
      static_cast<Tick>(std::ceil(kSecond_s * static_cast<double>(tick_hz_) / (1 - limits_.clock) - 1e-6));
  const auto cost = [this](const Interval& interval) -> const BurstCost& {
    return cost_of(interval.end - interval.start);
  };
  figures.supply_w = heaviest_window(gate_, second, [&](const Interval& it) { return cost(it).energy_j; });
  figures.tank_a_rms = heaviest_window(gate_, second, [&](const Interval& it) { return cost(it).i2t_a2s; });
  figures.supply_w.value /= kSecond_s;
  figures.tank_a_rms.value = std::sqrt(figures.tank_a_rms.value / kSecond_s);
  for (const Interval& interval : gate_) {
    figures.tank_v.see(cost(interval).tank_v, interval.start);
    figures.switch_v.see(cost(interval).switch_v, interval.start);
  }
}

EnergyFigures EnergyView::worst() {
  EnergyFigures figures;
  see_windows(figures);
  if (!heats_) return figures;
  cold_pass_ = play(cold());
  const Pass& pass = *cold_pass_;
  figures.junction_c = pass.junction_c;
  figures.heatsink_c = pass.heatsink_c;
  figures.ran_away = pass.ran_away;
  return figures;
}

bool EnergyView::holds(const Pass& pass) const {
  const Limits& limits = profile_.limits;
  if (pass.ran_away) return false;
  if (limits.heatsink_c && pass.heatsink_c.value > *limits.heatsink_c) return false;
  return !limits.junction_c || !judges_junction_ || pass.junction_c.value <= *limits.junction_c;
}

// Looks for a state from which a playing and its rest lead back to the same or a cooler one: warmer starts
// end warmer, so nothing that begins cooler ever gets past it. The guess is where the first two playings are
// heading.
bool EnergyView::loops_with(double rest_s) {
  const Decay rested = decay(rest_s);
  const auto once = [&](const Warmth& start, Pass& pass) {
    pass = play(start);
    step(pass.end, rested, 0, 0);
  };
  constexpr double kSlack_k = 0.05;
  Pass pass;
  Warmth before = cold();
  once(before, pass);
  for (int round = 0; round < 12 && holds(pass); ++round) {
    const double rise = pass.end.sink_k - before.sink_k;
    if (rise <= 0 && pass.end.case_k <= before.case_k) return true;
    Warmth first = pass.end;
    once(first, pass);
    if (!holds(pass)) return false;
    const double ratio = std::clamp((pass.end.sink_k - first.sink_k) / rise, 0.0, 0.9999);
    const double ahead = (pass.end.sink_k - first.sink_k) * ratio / (1 - ratio);
    before = pass.end;
    before.sink_k += ahead + kSlack_k;
    before.case_k += ahead + kSlack_k;
    once(before, pass);
  }
  return false;
}

// What was left of a cold start's playing when it ended, summed up over all playings before: none of it
// decays slower than the slowest mode, and no resistance is higher than at the hottest that is allowed. On
// top of that comes a cold playing.
bool EnergyView::surely_loops(const Pass& cold_pass) const {
  const Limits& limits = profile_.limits;
  const double ambient = profile_.heatsink.ambient_c;
  const double hottest_c = judges_junction_ && limits.junction_c ? *limits.junction_c : 150;
  const double base = is_igbt(profile_) ? 1 : profile_.switches.rds_on_factor_at_150c.value_or(1);
  const double warmer = judges_junction_ ? std::pow(base, (hottest_c - std::min(ambient, 25.0)) / 125) : 1;
  const double kept = std::exp(slowest_rate_ * static_cast<double>(length_) * seconds_per_tick_);
  const double carried = warmer / (1 - kept);
  const double sink_c =
      ambient + cold_pass.end.sink_k * carried + (cold_pass.heatsink_c.value - ambient) * warmer;
  const double junction_c =
      ambient + cold_pass.end.junction_k() * carried + (cold_pass.junction_c.value - ambient) * warmer;
  if (limits.heatsink_c && !(sink_c <= *limits.heatsink_c)) return false;
  return !judges_junction_ || (junction_c <= hottest_c);
}

// As if one mode, the slowest, carried all from playing to playing: what a cold playing leaves, summed up
// over those before, decays until the hottest moment and is added to it.
double EnergyView::guessed_rest_s(const Pass& cold_pass) const {
  const Limits& limits = profile_.limits;
  const auto decayed = [&](double seconds) { return std::exp(slowest_rate_ * seconds); };
  const double song_s = static_cast<double>(length_) * seconds_per_tick_;
  const auto fits = [&](double rest_s, const std::optional<double>& limit, const Worst& hottest,
                        double left_k) {
    if (!limit) return true;
    const double carried_k = left_k * decayed(rest_s) / (1 - decayed(rest_s + song_s));
    return hottest.value + carried_k * decayed(static_cast<double>(hottest.at) * seconds_per_tick_) <= *limit;
  };
  const auto all_fit = [&](double rest_s) {
    return fits(rest_s, limits.heatsink_c, cold_pass.heatsink_c, cold_pass.end.sink_k) &&
           (!judges_junction_ || fits(rest_s, limits.junction_c, cold_pass.junction_c, cold_pass.end.case_k));
  };
  double too_short = 0, long_enough = kDay_s;
  if (!all_fit(long_enough) || all_fit(0)) return 0;
  while (long_enough - too_short > 0.02) {
    const double middle = (too_short + long_enough) / 2;
    (all_fit(middle) ? long_enough : too_short) = middle;
  }
  return long_enough;
}

std::optional<double> EnergyView::rest_for_heat_s() {
  const Limits& limits = profile_.limits;
  if (!heats_ || gate_.empty() || (!limits.heatsink_c && !limits.junction_c)) return 0.0;
  if (!cold_pass_) cold_pass_ = play(cold());
  if (surely_loops(*cold_pass_) || loops_with(0)) return 0.0;
  // Near enough by the slowest mode alone; then tried in full, and a little more each time until it does.
  for (double rest_s = guessed_rest_s(*cold_pass_); rest_s <= kDay_s;
       rest_s = std::max(rest_s + 0.2, rest_s * 1.05))
    if (loops_with(rest_s)) return rest_s;
  return std::nullopt;
}

}  // namespace burstloom::judge_detail
