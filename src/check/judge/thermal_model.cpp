#include "thermal_model.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace burstloom::judge_detail {
namespace {

constexpr double kLeast = 1e-6;          // a resistance or capacity of nothing, so that all stays finite
constexpr double kLongest_short = 0.05;  // of the case's time constant
constexpr double kMostRows = 65'536;     // of silences whose cooling is kept

double resistance_rate(const Profile& profile) {
  return is_igbt(profile) ? 0 : std::log(profile.switches.rds_on_factor_at_150c.value_or(1)) / 125;
}

}  // namespace

// Case and sink without heat: d/dt (case, sink) = ((a, -a), (c, d)) (case, sink). Its two eigenvalues are the
// rates of two lags; in each of them case and sink stand in a fixed ratio.
ThermalModel::ThermalModel(const Profile& profile, const TickLimits& limits, std::int64_t tick_hz,
                           bool judges_junction)
    : profile_(profile),
      ambient_c_(profile.heatsink.ambient_c),
      seconds_per_tick_((1 - limits.clock) / static_cast<double>(tick_hz)),
      judges_junction_(judges_junction),
      resistance_follows_(judges_junction && !is_igbt(profile)),
      fixed_resistance_(is_igbt(profile) ? 1 : profile.switches.rds_on_factor_at_150c.value_or(1)),
      resistance_(resistance_rate(profile)) {
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
  longest_short_ = static_cast<Tick>(std::min(kMostRows, kLongest_short * case_time_s_ / seconds_per_tick_));
  sink_of_fast_ = (fast_rate - a) / -a;
  sink_of_slow_ = (slow_rate - a) / -a;
}

void ThermalModel::set_case_and_sink(ThermalState& state, double case_k, double sink_k) const {
  state[kSlow] = (sink_k - sink_of_fast_ * case_k) / (sink_of_slow_ - sink_of_fast_);
  state[kFast] = case_k - state[kSlow];
}

ThermalState ThermalModel::cold() const {
  ThermalState state(rates_.size(), 0.0);
  const double start_c = profile_.heatsink.start_c.value_or(ambient_c_);
  set_case_and_sink(state, profile_.heatsink.case_start_c.value_or(start_c) - ambient_c_,
                    start_c - ambient_c_);
  return state;
}

double ThermalModel::junction_k(const ThermalState& state) const {
  return std::accumulate(state.begin(), state.end(), 0.0);
}
double ThermalModel::case_k(const ThermalState& state) const {
  return state[kFast] + state[kSlow];
}
void ThermalModel::warm(ThermalState& state, double more_k) const {
  set_case_and_sink(state, case_k(state) + more_k, sink_k(state) + more_k);
}

void ThermalModel::cool(ThermalState& state, double seconds) const {
  for (std::size_t i = 0; i < rates_.size(); ++i) state[i] *= std::exp(rates_[i] * seconds);
}

const double* ThermalModel::newly_kept_over(Tick ticks) const {
  const std::size_t lags = rates_.size(), row = static_cast<std::size_t>(ticks) * lags;
  if (row >= kept_.size()) kept_.resize(row + lags);
  for (std::size_t i = 0; i < lags; ++i) kept_[row + i] = std::exp(rates_[i] * seconds(ticks));
  return &kept_[row];
}

// Where constant heat would bring each lag in the end.
ThermalState ThermalModel::steady(double hottest_w, double mean_w) const {
  ThermalState state(rates_.size(), 0.0);
  for (std::size_t i = kOfSink; i < rates_.size(); ++i)
    state[i] = hottest_w * profile_.switches.foster[i - kOfSink].r_k_per_w;
  state[kExcess] = (hottest_w - mean_w) * to_sink_;
  const double sink_k = on_sink_ * mean_w * to_ambient_;
  set_case_and_sink(state, sink_k + mean_w * to_sink_, sink_k);
  return state;
}

// Towards where constant heat would bring it in the end: exact for constant heat, however long.
BurstHeat ThermalModel::burst_heat(Tick ticks, const SwitchLosses& losses) const {
  const double length_s = seconds(ticks);
  const SwitchLoss &hottest = losses.hottest, &mean = losses.mean_on_sink;
  const ThermalState fixed_k = steady(hottest.fixed_j / length_s, mean.fixed_j / length_s);
  const ThermalState resistive_k = steady(hottest.resistive_j / length_s, mean.resistive_j / length_s);
  BurstHeat heat;
  for (std::size_t i = 0; i < rates_.size(); ++i) {
    const double gained = -std::expm1(rates_[i] * length_s);
    heat.lags.push_back({1 - gained, fixed_k[i] * gained, resistive_k[i] * gained});
    heat.resistive_sum_k += resistive_k[i] * gained;
  }
  return heat;
}

double ThermalModel::resistance_at_end(double fixed_c, double resistive_k) const {
  return resistance_follows_ ? resistance_.settled(fixed_c, resistive_k) : fixed_resistance_;
}

ThermalRun::ThermalRun(const ThermalModel& model, ThermalState start)
    : state(std::move(start)), model_(&model) {
  junction_c.update(model.ambient_c() + model.junction_k(state), 0);
  heatsink_c.update(model.ambient_c() + model.sink_k(state), 0);
}

void ThermalRun::cool_until(Tick start) {
  constexpr int kLooks = 20;
  for (int i = 0; i < kLooks; ++i) {
    model_->cool(state, model_->seconds(start - now_) / kLooks);
    see_sink(model_->sink_k(state), start);
  }
  now_ = start;
}

void ThermalRun::play(const HeatedInterval& it, Tick stretch) {
  if (model_->is_long(it.start - now_)) cool_until(it.start);
  const double* const kept = model_->kept_over(std::max<Tick>(0, it.start - now_));
  see_sink(model_->sink_k(state[0] * kept[0], state[1] * kept[1]), it.start);
  const BurstHeat& burst = *it.heat;
  const std::size_t lags = burst.lags.size();
  double fixed_k = 0;  // the junction's rise without the resistive loss
  for (std::size_t i = 0; i < lags; ++i)
    fixed_k += state[i] * kept[i] * burst.lags[i].kept + burst.lags[i].fixed_k;
  const double fixed_c = model_->ambient_c() + fixed_k;
  const double resistance = model_->resistance_at_end(fixed_c, burst.resistive_sum_k);
  for (std::size_t i = 0; i < lags; ++i) {
    const BurstHeat::Lag& lag = burst.lags[i];
    state[i] = state[i] * kept[i] * lag.kept + lag.fixed_k + lag.resistive_k * resistance;
  }
  now_ = it.end + stretch;
  junction_c.update(fixed_c + burst.resistive_sum_k * resistance, now_);
  see_sink(model_->sink_k(state), now_);
}

void ThermalRun::take(std::span<const HeatedInterval> intervals, Tick stretch) {
  for (const HeatedInterval& it : intervals) play(it, stretch);
  ran_away = junction_c.value > kLost_c;
}

void ThermalRun::finish(Tick length) {
  if (length > now_) cool_until(length);
  // After the last burst the sink may still rise.
  ThermalState after = state;
  for (int i = 0; i < 50; ++i) {
    model_->cool(after, model_->case_time_s() / 10);
    see_sink(model_->sink_k(after), length);
  }
}

}  // namespace burstloom::judge_detail
