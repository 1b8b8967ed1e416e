// The step from burst to burst.
#include <algorithm>
#include <cmath>
#include <limits>

#include "burstloom/coil/thermal.hpp"
#include "heat_width.hpp"

namespace burstloom {
namespace {

constexpr double kStepK = 0.25, kSlackK = 2;  // of the ceiling

}  // namespace

// 1 - exp(-t / tau) of a sum of times, from those of its parts: q1 + q2 (1 - q1).
template <int P>
[[gnu::always_inline]] inline Lanes<P> ThermalNetwork::complement(Tick ticks) const {
  if (ticks >= Tick{1} << 24) {
    double q[kMostModes];
    complement_of_seconds(static_cast<double>(ticks) * seconds_per_tick_, q);
    return load_lanes<P>(q);
  }
  const auto digit = [&](int level) {
    const auto value = static_cast<std::size_t>((ticks >> (8 * level)) & 255);
    return digits_.data() + (static_cast<std::size_t>(level) * 256 + value) * 2 * P;
  };
  const double *low = digit(0), *middle = digit(1);
  Lanes<P> q;
  for (int i = 0; i < P; ++i) {
    const Pair first = load(low + 2 * i);
    q.pair[i] = first + load(middle + 2 * i) * (1 - first);
  }
  if (ticks < 65536) return q;
  const double* high = digit(2);
  for (int i = 0; i < P; ++i) q.pair[i] += load(high + 2 * i) * (1 - q.pair[i]);
  return q;
}

Thermal::Thermal(const ThermalNetwork& network) : network_(&network), x_(network.start_) {
  forget_ceiling();
}

void Thermal::set_modes(const std::array<double, kMostModes>& x) {
  x_ = x;
  forget_ceiling();
}

void Thermal::forget_ceiling() {
  ceiling_c_ = -std::numeric_limits<double>::infinity();
  raise_or_lower_ceiling(junction_c());
}

double Thermal::time_constant_s(std::size_t mode) const {
  return mode < network_->modes_.size() ? network_->modes_[mode].tau_s
                                        : std::numeric_limits<double>::infinity();
}

double Thermal::junction_c() const {
  double rise = 0;
  for (std::size_t k = 0; k < 2 * static_cast<std::size_t>(network_->pairs_); ++k) rise += x_[k];
  return network_->ambient_c_ + rise;
}

double Thermal::sink_c() const {
  return network_->ambient_c_ + network_->sink_weight_[0] * x_[0] + network_->sink_weight_[1] * x_[1];
}

void Thermal::raise_or_lower_ceiling(double peak_c) {
  // In this order of arguments a not-a-number becomes the hottest.
  const double needed = std::ceil(std::min(kRunawayC, peak_c) / kStepK) * kStepK;
  ceiling_c_ = std::clamp(ceiling_c_, needed, needed + kSlackK);
  floor_c_ = ceiling_c_ - kSlackK - kStepK;
  factor_ = network_->resistance_factor(ceiling_c_);
  if (ceiling_c_ >= kRunawayC) ceiling_c_ = std::numeric_limits<double>::infinity();
}

// One exponential step, with the resistance at the ceiling: where the modes go, and how far the junction.
template <int P>
[[gnu::always_inline]] inline Thermal::Reach Thermal::reach(const Lanes<P>& q, const PulsePower& power,
                                                            Lanes<P>& modes) const {
  const ThermalNetwork& n = *network_;
  const double own = power.fixed_w + power.resistive_w * factor_;
  const double mean = power.mean_fixed_w + power.mean_resistive_w * factor_;
  // What drives the modes, in their order: case and sink; what differs between cases, and the pairs.
  const Pair all_mean = {mean, mean}, first_own = {own - mean, own}, all_own = {own, own};
  Pair start{}, rise{};
  for (int i = 0; i < P; ++i) {
    Pair& x = modes.pair[i];
    const Pair drive = i == 0 ? all_mean : i == 1 ? first_own : all_own;
    const Pair change = q.pair[i] * (load(n.gain_.data() + 2 * i) * drive - x);
    start += x;
    rise += change > 0.0 ? change : Pair{};
    x += change;
  }
  return {n.ambient_c_ + start[0] + start[1], rise[0] + rise[1]};
}

// The resistance that a burst is reckoned with must not be under that of any of its moments. It is taken at a
// ceiling that no moment passes: each mode moves one way, so no moment is hotter than the start plus all that
// rises. The ceiling is the one of the burst before, moved only when it is passed or far above; so a step
// hardly ever waits for a look-up.
template <int P>
[[gnu::always_inline]] inline double Thermal::part_of_burst(Lanes<P> modes, Tick on,
                                                            const PulsePower& power) {
  Lanes<P> after = modes;
  const Reach to = reach<P>(network_->template complement<P>(on), power, after);
  if (fits(to)) [[likely]] {
    store_lanes<P>(x_.data(), after);
    return to.peak();
  }
  store_lanes<P>(x_.data(), modes);
  return burst_by_another_ceiling<P>(on, power, to);
}

// Ends: each try raises the ceiling by a step at least, and past kRunawayC there is no ceiling.
template <int P>
[[gnu::noinline]] double Thermal::burst_by_another_ceiling(Tick on, const PulsePower& power, Reach to) {
  const Lanes<P> q = network_->template complement<P>(on), modes = load_lanes<P>(x_.data());
  Lanes<P> after;
  do {
    raise_or_lower_ceiling(to.peak());
    after = modes;
    to = reach<P>(q, power, after);
  } while (to.peak() > ceiling_c_);
  if (!(to.peak() < kRunawayC)) ran_away_ = true;
  store_lanes<P>(x_.data(), after);
  return to.peak();
}

// Long bursts are taken in parts, so that their beginning is not reckoned with the resistance of their end:
// of a millisecond, later of a sixteenth of the time so far, so that no burst takes more than a few hundred.
// The parts do not depend on the heat: if they followed it, a longer burst could come out cooler.
template <int P>
double Thermal::burst_of(Tick off, Tick on, const PulsePower& power) {
  const Lanes<P> q = network_->template complement<P>(off);
  Lanes<P> modes = load_lanes<P>(x_.data());
  for (int i = 0; i < P; ++i) modes.pair[i] -= q.pair[i] * modes.pair[i];
  const Tick first = std::min(on, network_->shortest_part_);
  double peak = part_of_burst<P>(modes, first, power);
  for (Tick done = first; done < on;) {
    const Tick part = std::min(on - done, std::max(network_->shortest_part_, done / 16));
    peak = std::max(peak, part_of_burst<P>(load_lanes<P>(x_.data()), part, power));
    done += part;
  }
  return peak;
}

double Thermal::burst(Tick on, const PulsePower& power) {
  return gap_and_burst(0, on, power);
}

double Thermal::gap_and_burst(Tick off, Tick on, const PulsePower& power) {
  return for_pairs(network_->pairs_, [&]<int P>() { return burst_of<P>(off, on, power); });
}

void Thermal::gap(Tick off) {
  for_pairs(network_->pairs_, [&]<int P>() {
    const Lanes<P> q = network_->template complement<P>(off);
    Lanes<P> modes = load_lanes<P>(x_.data());
    for (int i = 0; i < P; ++i) modes.pair[i] -= q.pair[i] * modes.pair[i];
    store_lanes<P>(x_.data(), modes);
  });
}

double Thermal::rest(double seconds) {
  const ThermalNetwork& n = *network_;
  const double before = sink_c();
  // The sink's rise is w0 exp(-t / tau0) + w1 exp(-t / tau1): it turns where its slope, of the same form, is
  // 0.
  const double slow = n.sink_weight_[0] * x_[0] / n.modes_[0].tau_s;
  const double fast = n.sink_weight_[1] * x_[1] / n.modes_[1].tau_s;
  double highest = before;
  if (slow > 0 && slow + fast < 0) {
    const double turn = std::log(-fast / slow) / (1 / n.modes_[1].tau_s - 1 / n.modes_[0].tau_s);
    if (turn < seconds)
      highest = n.ambient_c_ + slow * n.modes_[0].tau_s * std::exp(-turn / n.modes_[0].tau_s) +
                fast * n.modes_[1].tau_s * std::exp(-turn / n.modes_[1].tau_s);
  }
  double q[kMostModes];
  n.complement_of_seconds(seconds, q);
  for (std::size_t k = 0; k < 2 * static_cast<std::size_t>(n.pairs_); ++k) x_[k] -= q[k] * x_[k];
  forget_ceiling();
  return std::max(highest, sink_c());
}

}  // namespace burstloom
