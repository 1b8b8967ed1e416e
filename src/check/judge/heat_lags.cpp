#include "heat_lags.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numeric>

namespace burstloom::judge_detail {
namespace {

constexpr double kCase_j_per_k = 0.3;  // where the profile gives none; from memory, under a TO-220's
constexpr double kLeast = 1e-6;        // a resistance or capacity of nothing, so that all stays finite

double resistance_rate(const Profile& profile) {
  return is_igbt(profile) ? 0 : std::log(profile.switches.rds_on_factor_at_150c.value_or(1)) / 125;
}

// Two lags at a time, in one instruction (an extension that g++ and clang share).
using Pair = double __attribute__((vector_size(16)));
Pair pair_at(const double* from) {
  Pair pair;
  std::memcpy(&pair, from, sizeof pair);
  return pair;
}

// The numbers of pairs of lags for which playing is compiled, the compiler unrolling its loops: most switches
// have one to five Foster pairs, none more than 16.
template <class With>
void with_pairs(std::size_t width, With with) {
  switch (width) {
    case 4:
      return with.template operator()<2>();
    case 6:
      return with.template operator()<3>();
    case 8:
      return with.template operator()<4>();
    default:
      return with.template operator()<10>();
  }
}
std::size_t rounded_up(std::size_t lags) {
  return lags <= 8 ? std::max<std::size_t>(4, (lags + 1) / 2 * 2) : 20;
}

}  // namespace

// Case and sink without heat: d/dt (case, sink) = ((a, -a), (c, d)) (case, sink). Its two eigenvalues are the
// rates of two lags; in each of them case and sink stand in a fixed ratio.
HeatLags::HeatLags(const Profile& profile, const TickLimits& limits, std::int64_t tick_hz,
                   bool judges_junction)
    : profile_(profile),
      ambient_c_(profile.heatsink.ambient_c),
      seconds_per_tick_((1 - limits.clock) / static_cast<double>(tick_hz)),
      judges_junction_(judges_junction),
      resistance_follows_(judges_junction && !is_igbt(profile)),
      resistance_(resistance_rate(profile)) {
  fixed_factor_ = is_igbt(profile) ? 1 : profile.switches.rds_on_factor_at_150c.value_or(1);
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
  rates_ = {fast_rate, slow_rate, a};
  for (const FosterPair& pair : profile.switches.foster) rates_.push_back(-1 / pair.tau_s);
  width_ = rounded_up(rates_.size());
  sink_of_fast_ = (fast_rate - a) / -a;
  sink_of_slow_ = (slow_rate - a) / -a;
  const double long_ticks = kLongRest * case_time_s_ / seconds_per_tick_;
  short_rest_ = static_cast<Tick>(std::min(65'535.0, std::floor(long_ticks)));
  constexpr std::size_t kTables = 5, kRows = 1u << kTableBits;
  kept_.resize(kTables * kRows * width_);
  for (std::size_t row = 0; row < kTables * kRows; ++row)
    for (std::size_t i = 0; i < rates_.size(); ++i)
      kept_[row * width_ + i] =
          std::exp(rates_[i] * seconds(static_cast<Tick>(row % kRows) << (row / kRows * kTableBits)));
}

void HeatLags::set_case_and_sink(Warmth& warmth, double case_k, double sink_k) const {
  warmth[kSlow] = (sink_k - sink_of_fast_ * case_k) / (sink_of_slow_ - sink_of_fast_);
  warmth[kFast] = case_k - warmth[kSlow];
}

Warmth HeatLags::cold() const {
  Warmth warmth(width_, 0.0);
  const double start_c = profile_.heatsink.start_c.value_or(ambient_c_);
  set_case_and_sink(warmth, profile_.heatsink.case_start_c.value_or(start_c) - ambient_c_,
                    start_c - ambient_c_);
  return warmth;
}

double HeatLags::junction_k(const Warmth& warmth) const {
  return std::accumulate(warmth.begin(), warmth.end(), 0.0);
}
double HeatLags::case_k(const Warmth& warmth) const {
  return warmth[kFast] + warmth[kSlow];
}
double HeatLags::sink_k(const Warmth& warmth) const {
  return sink_of_fast_ * warmth[kFast] + sink_of_slow_ * warmth[kSlow];
}
void HeatLags::warm(Warmth& warmth, double more_k) const {
  set_case_and_sink(warmth, case_k(warmth) + more_k, sink_k(warmth) + more_k);
}

void HeatLags::rest_s(Warmth& warmth, double seconds) const {
  for (std::size_t i = 0; i < rates_.size(); ++i) warmth[i] *= std::exp(rates_[i] * seconds);
}

void HeatLags::rest(Warmth& warmth, Tick ticks) const {
  const std::size_t table = width_ << kTableBits;
  if (ticks >> (kTableBits * (kept_.size() / table)) != 0) return rest_s(warmth, seconds(ticks));
  double* const now = warmth.data();
  for (const double* rows = kept_.data(); ticks != 0; ticks >>= kTableBits, rows += table) {
    const double* const kept = rows + static_cast<std::size_t>(ticks & ((1 << kTableBits) - 1)) * width_;
    for (std::size_t i = 0; i < width_; ++i) now[i] *= kept[i];
  }
}

// Where constant heat would bring each lag in the end.
Warmth HeatLags::steady(double hottest_w, double mean_w) const {
  Warmth warmth(width_, 0.0);
  for (std::size_t i = kOfSink; i < rates_.size(); ++i)
    warmth[i] = hottest_w * profile_.switches.foster[i - kOfSink].r_k_per_w;
  warmth[kExcess] = (hottest_w - mean_w) * to_sink_;
  const double sink_k = on_sink_ * mean_w * to_ambient_;
  set_case_and_sink(warmth, sink_k + mean_w * to_sink_, sink_k);
  return warmth;
}

// Towards where constant heat would bring it in the end: exact for constant heat, however long.
BurstHeat HeatLags::burst_heat(Tick ticks, const BurstCost& cost) const {
  const double length_s = seconds(ticks);
  const Warmth fixed_k = steady(cost.hottest_fixed_j / length_s, cost.mean_fixed_j / length_s);
  const Warmth resistive_k = steady(cost.hottest_resistive_j / length_s, cost.mean_resistive_j / length_s);
  BurstHeat heat;
  heat.of_lags.resize(3 * width_);
  for (std::size_t i = 0; i < rates_.size(); ++i) {
    const double gained = -std::expm1(rates_[i] * length_s);
    heat.of_lags[i] = std::exp(rates_[i] * length_s);
    heat.of_lags[width_ + i] = fixed_k[i] * gained;
    heat.of_lags[2 * width_ + i] = resistive_k[i] * gained;
    heat.resistive_sum_k += resistive_k[i] * gained;
  }
  return heat;
}

double HeatLags::resistance_at(double junction_c) const {
  return resistance_.at(junction_c);
}

HeatPass::HeatPass(const HeatLags& lags, Warmth start) : end(std::move(start)), lags_(&lags) {
  junction_c.see(lags.ambient_c() + lags.junction_k(end), 0);
  heatsink_c.see(lags.ambient_c() + lags.sink_k(end), 0);
}

// Tells `sink` how warm it gets on the way, at the time `until`.
void HeatPass::rest_for(Tick ticks, Tick until, Worst& sink) {
  // In a long silence the case goes on warming the sink for a while: look at it on the way.
  constexpr int kParts = 20;
  const double seconds = lags_->seconds(ticks);
  const bool is_long = lags_->is_long(seconds);
  for (int i = 0; i < (is_long ? kParts : 1); ++i) {
    if (is_long)
      lags_->rest_s(end, seconds / kParts);
    else
      lags_->rest(end, ticks);
    sink.see(lags_->ambient_c() + lags_->sink_k(end), until);
  }
}

void HeatPass::take(std::span<const HeatedInterval> intervals, Tick stretch) {
  with_pairs(end.size(), [&]<std::size_t kPairs>() { play<kPairs>(intervals, stretch); });
}

// All that a burst changes is held here: the compiler cannot keep members in registers across the stores.
template <std::size_t kPairs>
void HeatPass::play(std::span<const HeatedInterval> intervals, Tick stretch) {
  constexpr std::size_t kWidth = 2 * kPairs;
  const HeatLags& lags = *lags_;
  const double *const low_rows = lags.kept_.data(), *const high_rows = low_rows + (kWidth << 8);
  const double ambient_c = lags.ambient_c_;
  const Pair of_sink = {lags.sink_of_fast_, lags.sink_of_slow_};
  const bool follows = lags.resistance_follows_;
  Pair warmth[kPairs];
  std::memcpy(warmth, end.data(), sizeof warmth);
  Tick now = now_;
  double factor = follows ? factor_ : lags.fixed_factor_;
  Worst junction = junction_c, sink = heatsink_c;
  const auto see_sink = [&] {
    const Pair parts = warmth[0] * of_sink;
    sink.see(ambient_c + (parts[0] + parts[1]), now);
  };
  for (const HeatedInterval& it : intervals) {
    const Tick rest = it.start - now;
    if (rest > lags.short_rest_) {
      std::memcpy(end.data(), warmth, sizeof warmth);
      rest_for(rest, it.start, sink);
      std::memcpy(warmth, end.data(), sizeof warmth);
    } else if (rest > 0) {
      const double* const low = low_rows + static_cast<std::size_t>(rest & 255) * kWidth;
      const double* const high = high_rows + static_cast<std::size_t>(rest >> 8) * kWidth;
      for (std::size_t i = 0; i < kPairs; ++i) warmth[i] *= pair_at(low + 2 * i) * pair_at(high + 2 * i);
      now = it.start;
      see_sink();
    }
    now = it.end + stretch;
    const double *const kept = it.heat->of_lags.data(), *const fixed_k = kept + kWidth,
                        *const more_k = fixed_k + kWidth;
    Pair sum = {ambient_c, 0};
    for (std::size_t i = 0; i < kPairs; ++i)
      sum += warmth[i] = warmth[i] * pair_at(kept + 2 * i) + pair_at(fixed_k + 2 * i);
    const double fixed_c = sum[0] + sum[1], resistive_k = it.heat->resistive_sum_k;
    if (follows) factor = lags.resistance_.settled(fixed_c, resistive_k, factor);
    for (std::size_t i = 0; i < kPairs; ++i) warmth[i] += pair_at(more_k + 2 * i) * factor;
    junction.see(fixed_c + resistive_k * factor, now);
    see_sink();
  }
  std::memcpy(end.data(), warmth, sizeof warmth);
  now_ = now;
  factor_ = factor;
  junction_c = junction;
  heatsink_c = sink;
  ran_away = junction_c.value > kLost_c;
}

void HeatPass::finish(Tick length) {
  if (length > now_) rest_for(length - now_, length, heatsink_c);
  // After the last burst the sink may still rise.
  Warmth after = end;
  for (int i = 0; i < 50; ++i) {
    lags_->rest_s(after, lags_->case_time_s() / 10);
    heatsink_c.see(lags_->ambient_c() + lags_->sink_k(after), length);
  }
}

}  // namespace burstloom::judge_detail
