// Builds the thermal network: its modes, and the tables that make a step cheap.
#include <algorithm>
#include <cmath>
#include <string>

#include "burstloom/coil/thermal.hpp"
#include "burstloom/common/error.hpp"
#include "heat_width.hpp"

namespace burstloom {
namespace {

constexpr double kLeast = 1e-6;
constexpr double kColdestC = -100;
constexpr double kShortestPartS = 1e-3;

void require(bool good, const std::string& what, double found) {
  if (good) return;
  throw bad_input(what + " is " + std::to_string(found), "", "give a finite number above zero");
}

void require_usable(const ThermalParts& parts, double seconds_per_tick) {
  const auto positive = [](double value) { return value > 0 && value < 1e12; };
  require(parts.foster.size() <= 16, "the number of Foster pairs", static_cast<double>(parts.foster.size()));
  for (const auto& [r, tau] : parts.foster) {
    require(positive(r), "a Foster pair's resistance", r);
    require(positive(tau), "a Foster pair's time constant", tau);
  }
  require(positive(seconds_per_tick), "a tick's length", seconds_per_tick);
  require(parts.rds_on_factor_at_150c >= 1 && parts.rds_on_factor_at_150c <= 100,
          "the factor of the resistance at 150 °C", parts.rds_on_factor_at_150c);
  require(std::abs(parts.ambient_c) < 1e4, "the ambient temperature", parts.ambient_c);
  const double case_start_c = parts.case_start_c.value_or(parts.start_c);
  require(std::abs(parts.start_c) < 1e4, "the start temperature", parts.start_c);
  require(std::abs(case_start_c) < 1e4, "the case's start temperature", case_start_c);
  if (!parts.sink) return;
  require(positive(parts.sink->case_heat_capacity_j_per_k), "the case's heat capacity",
          parts.sink->case_heat_capacity_j_per_k);
  require(parts.sink->case_to_sink_k_per_w >= 0 && parts.sink->case_to_sink_k_per_w < 1e12,
          "the resistance from case to sink", parts.sink->case_to_sink_k_per_w);
  require(positive(parts.sink->sink_to_ambient_k_per_w), "the resistance from sink to ambient",
          parts.sink->sink_to_ambient_k_per_w);
  require(positive(parts.sink->sink_heat_capacity_j_per_k), "the sink's heat capacity",
          parts.sink->sink_heat_capacity_j_per_k);
  require(parts.sink->on_one_sink >= 1, "the number of switches on the sink", parts.sink->on_one_sink);
}

// The 2x2 system of one case and its share of the sink, in closed form:
//   Cc Tc' = p - (Tc - Ts) / Rcs,   Cs Ts' = (Tc - Ts) / Rcs - Ts / Rsa.
// Its rates are the roots of mu^2 - (a + b + c) mu + a c; in a mode Ts = (1 - mu / a) Tc.
struct TwoModes {
  double rate[2], resistance[2], sink_weight[2];  // [0] the slow one
};

TwoModes case_over_sink(double case_c, double case_r, double sink_c, double sink_r) {
  const double a = 1 / (case_c * case_r), b = 1 / (sink_c * case_r), c = 1 / (sink_c * sink_r);
  const double sum = a + b + c;
  const double apart = std::sqrt((a - c) * (a - c) + b * b + 2 * b * (a + c));  // never 0: b > 0
  const double fast = (sum + apart) / 2, slow = a * c / fast;
  const double in_all = case_r + sink_r;
  return {{slow, fast},
          {(fast * in_all - 1 / case_c) / (fast - slow), (1 / case_c - slow * in_all) / (fast - slow)},
          {1 - slow / a, 1 - fast / a}};
}

}  // namespace

ThermalNetwork::ThermalNetwork(const ThermalParts& parts, double seconds_per_tick)
    : seconds_per_tick_(seconds_per_tick), ambient_c_(parts.ambient_c) {
  require_usable(parts, seconds_per_tick);
  modes_.resize(3);
  if (parts.sink)
    add_case_and_sink(*parts.sink, parts.start_c - parts.ambient_c,
                      parts.case_start_c.value_or(parts.start_c) - parts.ambient_c);
  for (const auto& [r, tau] : parts.foster) modes_.push_back({tau, r, 0, 0});
  log_factor_per_k_ = std::log(parts.rds_on_factor_at_150c) / 125;
  shortest_part_ = log_factor_per_k_ == 0
                       ? kEndOfTime
                       : std::max<Tick>(1, std::llround(kShortestPartS / seconds_per_tick));
  tabulate();
}

void ThermalNetwork::add_case_and_sink(const SinkParts& sink, double start_rise, double case_start_rise) {
  // One switch's share of the sink: all on it alike, n times the resistance and an n-th of the capacity.
  const double n = sink.on_one_sink;
  const double case_c = std::max(sink.case_heat_capacity_j_per_k, kLeast);
  const double sink_c = std::max(sink.sink_heat_capacity_j_per_k, kLeast) / n;
  const double sink_r = std::max(sink.sink_to_ambient_k_per_w, kLeast) * n;
  const double case_r = sink.case_to_sink_k_per_w;
  if (case_r < kLeast) {  // the case is the sink
    modes_[0] = {(case_c + sink_c) * sink_r, 0, sink_r, std::max(start_rise, case_start_rise)};
    sink_weight_[0] = 1;
    fastest_sink_tau_s_ = modes_[0].tau_s;
    return;
  }
  const TwoModes two = case_over_sink(case_c, case_r, sink_c, sink_r);
  for (int i = 0; i < 2; ++i) {
    modes_[static_cast<std::size_t>(i)] = {1 / two.rate[i], 0, two.resistance[i], 0};
    sink_weight_[i] = two.sink_weight[i];
  }
  // Case and sink start alike: x0 + x1 = rise and mu0 x0 + mu1 x1 = 0, for a case as warm as its sink passes
  // no heat.
  modes_[0].start = start_rise * two.rate[1] / (two.rate[1] - two.rate[0]);
  modes_[1].start = -start_rise * two.rate[0] / (two.rate[1] - two.rate[0]);
  // A case that starts warmer than its sink: x0 + x1 = what it is warmer, and the sink is as it was.
  const double warmer = (case_start_rise - start_rise) / (two.sink_weight[0] - two.sink_weight[1]);
  modes_[0].start -= warmer * two.sink_weight[1];
  modes_[1].start += warmer * two.sink_weight[0];
  // A case that gets more than the mean is warmer than the mean by what decays through its own Rcs: the sink
  // feels only the mean.
  modes_[2] = {case_c * case_r, case_r, -case_r, 0};
  fastest_sink_tau_s_ = 1 / two.rate[1];
}

void ThermalNetwork::tabulate() {
  pairs_ = pairs_for(static_cast<int>(modes_.size()));
  const auto width = 2 * static_cast<std::size_t>(pairs_);
  for (std::size_t k = 0; k < modes_.size(); ++k) {
    gain_[k] = k < 2 ? modes_[k].gain_mean : modes_[k].gain_own;
    start_[k] = modes_[k].start;
  }
  digits_.assign(3 * 256 * width, 0.0);
  for (std::size_t i = 0; i < std::size_t{3} * 256; ++i) {
    const double ticks = std::ldexp(static_cast<double>(i % 256), static_cast<int>(i / 256) * 8);
    for (std::size_t k = 0; k < modes_.size(); ++k)
      digits_[i * width + k] = -std::expm1(-ticks * seconds_per_tick_ / modes_[k].tau_s);
  }
}

double ThermalNetwork::resistance_factor(double junction_c) const {
  return std::exp(log_factor_per_k_ * (std::clamp(junction_c, kColdestC, kRunawayC) - 25));
}

// The geometric series of exponential steps: peak = g p (1 - exp(-on / tau)) / (1 - exp(-period / tau)).
ThermalNetwork::Repeated ThermalNetwork::repeated_pulse(double on_s, double period_s, double own_w,
                                                        double mean_w) const {
  Repeated rise;
  for (const Mode& mode : modes_) {
    const double gain = mode.gain_own * own_w + mode.gain_mean * mean_w;
    if (gain == 0) continue;
    const double peak = gain * std::expm1(-on_s / mode.tau_s) / std::expm1(-period_s / mode.tau_s);
    rise.peak += peak;
    rise.valley += peak * std::exp(-(period_s - on_s) / mode.tau_s);
    rise.mean += gain * on_s / period_s;
  }
  return rise;
}

double ThermalNetwork::sink_resistance_k_per_w() const {
  return sink_weight_[0] * gain_[0] + sink_weight_[1] * gain_[1];
}

void ThermalNetwork::complement_of_seconds(double seconds, double* q) const {
  for (std::size_t k = 0; k < 2 * static_cast<std::size_t>(pairs_); ++k)
    q[k] = k < modes_.size() ? -std::expm1(-seconds / modes_[k].tau_s) : 0.0;
}

}  // namespace burstloom
