#include "heat_lags.hpp"

#include <cmath>
#include <numeric>

namespace burstloom::judge_detail {
namespace {

constexpr double kCase_j_per_k = 0.3;  // where the profile gives none; from memory, under a TO-220's
constexpr double kLost_c = 300;        // past this a junction is lost
constexpr double kLeast = 1e-6;        // a resistance or capacity of nothing, so that all stays finite

}  // namespace

// Case and sink without heat: d/dt (case, sink) = ((a, -a), (c, d)) (case, sink). Its two eigenvalues are the
// rates of two lags; in each of them case and sink stand in a fixed ratio.
HeatLags::HeatLags(const Profile& profile, const TickLimits& limits, std::int64_t tick_hz,
                   bool judges_junction)
    : profile_(profile),
      ambient_c_(profile.heatsink.ambient_c),
      seconds_per_tick_((1 - limits.clock) / static_cast<double>(tick_hz)),
      judges_junction_(judges_junction),
      resistance_follows_(judges_junction && !is_igbt(profile)) {
  const double base = profile.switches.rds_on_factor_at_150c.value_or(1);
  fixed_factor_ = is_igbt(profile) ? 1 : base;
  resistance_rate_ = is_igbt(profile) ? 0 : std::log(base) / 125;
  const Heatsink& sink = profile.heatsink;
  const double case_j_per_k = std::max(kLeast, sink.case_heat_capacity_j_per_k.value_or(kCase_j_per_k));
  const double sink_j_per_k = std::max(kLeast, *sink.sink_heat_capacity_j_per_k);
  to_sink_ = std::max(kLeast, *sink.case_to_sink_k_per_w);
  to_ambient_ = std::max(kLeast, *sink.sink_to_ambient_k_per_w);
  on_sink_ = profile.switches.on_one_sink;
  case_time_s_ = to_sink_ * case_j_per_k;
  const double a = -1 / case_time_s_, c = on_sink_ / (to_sink_ * sink_j_per_k);
  const double d = -c - 1 / (to_ambient_ * sink_j_per_k);
  const double middle = (a + d) / 2, apart = std::sqrt((a - d) * (a - d) / 4 - a * c);
  const double fast_rate = middle - apart;
  const double slow_rate =
      1 / (case_time_s_ * to_ambient_ * sink_j_per_k) / fast_rate;  // determinant over the other
  for (const FosterPair& pair : profile.switches.foster) rates_.push_back(-1 / pair.tau_s);
  rates_.insert(rates_.end(), {a, fast_rate, slow_rate});
  sink_of_fast_ = (fast_rate - a) / -a;
  sink_of_slow_ = (slow_rate - a) / -a;
  constexpr unsigned kTables = 5, kRows = 1u << kTableBits;
  for (unsigned table = 0; table < kTables; ++table)
    for (unsigned row = 0; row < kRows; ++row)
      for (const double rate : rates_)
        kept_.push_back(std::exp(rate * seconds(Tick{row} << (table * kTableBits))));
}

void HeatLags::set_case_and_sink(Warmth& warmth, double case_k, double sink_k) const {
  warmth[slow()] = (sink_k - sink_of_fast_ * case_k) / (sink_of_slow_ - sink_of_fast_);
  warmth[fast()] = case_k - warmth[slow()];
}

Warmth HeatLags::cold() const {
  Warmth warmth(rates_.size(), 0.0);
  const double start_c = profile_.heatsink.start_c.value_or(ambient_c_);
  set_case_and_sink(warmth, profile_.heatsink.case_start_c.value_or(start_c) - ambient_c_,
                    start_c - ambient_c_);
  return warmth;
}

double HeatLags::junction_k(const Warmth& warmth) const {
  return std::accumulate(warmth.begin(), warmth.end(), 0.0);
}
double HeatLags::case_k(const Warmth& warmth) const {
  return warmth[fast()] + warmth[slow()];
}
double HeatLags::sink_k(const Warmth& warmth) const {
  return sink_of_fast_ * warmth[fast()] + sink_of_slow_ * warmth[slow()];
}
void HeatLags::warm(Warmth& warmth, double more_k) const {
  set_case_and_sink(warmth, case_k(warmth) + more_k, sink_k(warmth) + more_k);
}

void HeatLags::rest_s(Warmth& warmth, double seconds) const {
  for (std::size_t i = 0; i < warmth.size(); ++i) warmth[i] *= std::exp(rates_[i] * seconds);
}

void HeatLags::rest(Warmth& warmth, Tick ticks) const {
  const std::size_t lags = rates_.size(), table = lags << kTableBits;
  if (ticks >> (kTableBits * (kept_.size() / table)) != 0) return rest_s(warmth, seconds(ticks));
  double* const now = warmth.data();
  for (const double* rows = kept_.data(); ticks != 0; ticks >>= kTableBits, rows += table) {
    const double* const kept = rows + static_cast<std::size_t>(ticks & ((1 << kTableBits) - 1)) * lags;
    for (std::size_t i = 0; i < lags; ++i) now[i] *= kept[i];
  }
}

// Where constant heat would bring each lag in the end.
Warmth HeatLags::steady(double hottest_w, double mean_w) const {
  Warmth warmth;
  for (const FosterPair& pair : profile_.switches.foster) warmth.push_back(hottest_w * pair.r_k_per_w);
  warmth.resize(rates_.size());
  warmth[excess()] = (hottest_w - mean_w) * to_sink_;
  const double sink_k = on_sink_ * mean_w * to_ambient_;
  set_case_and_sink(warmth, sink_k + mean_w * to_sink_, sink_k);
  return warmth;
}

// Towards where constant heat would bring it in the end: exact for constant heat, however long.
BurstHeat HeatLags::burst_heat(Tick ticks, const BurstCost& cost) const {
  const double length_s = seconds(ticks);
  BurstHeat heat;
  heat.fixed_k = steady(cost.hottest_fixed_j / length_s, cost.mean_fixed_j / length_s);
  heat.resistive_k = steady(cost.hottest_resistive_j / length_s, cost.mean_resistive_j / length_s);
  for (std::size_t i = 0; i < rates_.size(); ++i) {
    heat.kept.push_back(std::exp(rates_[i] * length_s));
    const double gained = -std::expm1(rates_[i] * length_s);
    heat.fixed_k[i] *= gained;
    heat.resistive_k[i] *= gained;
    heat.resistive_sum_k += heat.resistive_k[i];
  }
  return heat;
}

double HeatLags::resistance_at(double junction_c) const {
  return std::exp(resistance_rate_ * (std::clamp(junction_c, -100.0, kLost_c) - 25));
}

double HeatLags::burst(Warmth& warmth, const BurstHeat& heat, double& factor) const {
  double* const now = warmth.data();
  const double *const kept = heat.kept.data(), *const fixed_k = heat.fixed_k.data();
  double fixed_c = ambient_c_;
  const double resistive_k = heat.resistive_sum_k;
  const std::size_t lags = rates_.size();
  for (std::size_t i = 0; i < lags; ++i) fixed_c += now[i] = now[i] * kept[i] + fixed_k[i];
  if (!resistance_follows_) factor = fixed_factor_;
  // The hotter, the more resistance, the hotter: Newton's steps to where both agree, from where the last
  // burst left it.
  for (int round = 0; resistance_follows_ && round < 50; ++round) {
    const double there = resistance_at(fixed_c + resistive_k * factor);
    const double off = there - factor;
    if (std::abs(off) < 1e-9 * factor) break;
    factor += off / (1 - std::min(0.5, resistance_rate_ * resistive_k * there));
  }
  const double* const more_k = heat.resistive_k.data();
  for (std::size_t i = 0; i < lags; ++i) now[i] += more_k[i] * factor;
  return fixed_c + resistive_k * factor;
}

HeatPass::HeatPass(const HeatLags& lags, Warmth start) : end(std::move(start)), lags_(&lags) {
  junction_c.see(lags.ambient_c() + lags.junction_k(end), 0);
  heatsink_c.see(lags.ambient_c() + lags.sink_k(end), 0);
}

void HeatPass::rest_until(Tick until) {
  const Tick ticks = until - now_;
  now_ = until;
  // In a long silence the case goes on warming the sink for a while: look at it on the way.
  constexpr int kParts = 20;
  const double seconds = lags_->seconds(ticks);
  const bool is_long = seconds > 0.05 * lags_->case_time_s();
  for (int i = 0; i < (is_long ? kParts : 1); ++i) {
    if (is_long)
      lags_->rest_s(end, seconds / kParts);
    else
      lags_->rest(end, ticks);
    heatsink_c.see(lags_->ambient_c() + lags_->sink_k(end), until);
  }
}

void HeatPass::take(const Interval& interval, Tick stretch, const BurstHeat& heat) {
  if (interval.start > now_) rest_until(interval.start);
  now_ = interval.end + stretch;
  const double peak_c = lags_->burst(end, heat, factor_);
  junction_c.see(peak_c, now_);
  heatsink_c.see(lags_->ambient_c() + lags_->sink_k(end), now_);
  ran_away |= peak_c > kLost_c;
}

void HeatPass::finish(Tick length) {
  if (length > now_) rest_until(length);
  // After the last burst the sink may still rise.
  Warmth after = end;
  for (int i = 0; i < 50; ++i) {
    lags_->rest_s(after, lags_->case_time_s() / 10);
    heatsink_c.see(lags_->ambient_c() + lags_->sink_k(after), length);
  }
}

}  // namespace burstloom::judge_detail
