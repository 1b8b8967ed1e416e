#include "fine_period.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "kaiser.hpp"

namespace burstloom {
namespace {

constexpr double periods_in_window = 3.0;
constexpr double shortest_window_s = 0.012;
constexpr double longest_window_s = 0.040;
constexpr std::ptrdiff_t reach = 12;  // taps of the interpolation on each side
constexpr std::ptrdiff_t search = 3;  // lags on each side of the rough one
constexpr std::ptrdiff_t around = reach + search + 1;
constexpr std::size_t lag_count = 2 * around + 1;
constexpr int steps_a_lag = 4;
constexpr double kernel_beta = 8.0;

std::size_t window_for(double period_s, double rate_hz) {
  const double length_s = std::clamp(periods_in_window * period_s, shortest_window_s, longest_window_s);
  return static_cast<std::size_t>(std::lround(length_s * rate_hz));
}

/// Hann: the window's ends must not show in the difference.
void fill_weights(std::vector<float>& weights, std::size_t window) {
  if (weights.size() == window) return;
  weights.resize(window);
  const double turn = 2.0 * std::numbers::pi / static_cast<double>(window);
  for (std::size_t j = 0; j < window; ++j)
    weights[j] = static_cast<float>(0.5 - 0.5 * std::cos(turn * (static_cast<double>(j) + 0.5)));
}

/// Weights of the 2 * reach lags about a place `part` of a lag past its lower neighbour.
std::vector<float> kernel(double part) {
  std::vector<float> taps;
  double sum = 0;
  for (std::ptrdiff_t k = 1 - reach; k <= reach; ++k) {
    const double distance = static_cast<double>(k) - part;
    const double tap = sinc(distance) * kaiser(distance / static_cast<double>(reach), kernel_beta);
    taps.push_back(static_cast<float>(tap));
    sum += tap;
  }
  for (float& tap : taps) tap /= static_cast<float>(sum);
  return taps;
}

}  // namespace

FinePeriod::FinePeriod(Thinned& sound) : sound_(sound), mismatch_(lag_count) {
  for (int step = 0; step < steps_a_lag; ++step)
    kernels_.push_back(kernel(static_cast<double>(step) / steps_a_lag));
}

/// The normalised difference at lag_count lags from `first_lag` on. The inner loop runs over lags, so that it
/// is many sums side by side.
void FinePeriod::compare(double centre, std::ptrdiff_t first_lag, std::size_t window) {
  fill_weights(weights_, window);
  const double middle_lag = static_cast<double>(first_lag + around);
  const auto start =
      static_cast<std::ptrdiff_t>(std::lround(centre - (middle_lag + static_cast<double>(window)) / 2.0));
  const auto own = sound_.at(start, window);
  weighted_.assign(own.begin(), own.end());
  const auto others = sound_.at(start + first_lag, window + lag_count);
  std::array<float, lag_count> product{}, energy{};
  own_energy_ = 0;
  for (std::size_t j = 0; j < window; ++j) {
    const float w = weights_[j], wx = w * weighted_[j];
    own_energy_ += wx * weighted_[j];
    const float* other = others.data() + j;
    for (std::size_t lag = 0; lag < lag_count; ++lag) {
      product[lag] += wx * other[lag];
      energy[lag] += w * other[lag] * other[lag];
    }
  }
  other_energy_ = energy[static_cast<std::size_t>(around)];
  for (std::size_t lag = 0; lag < lag_count; ++lag) {
    const double both = static_cast<double>(own_energy_) + static_cast<double>(energy[lag]);
    mismatch_[lag] = both > 0 ? 1.0 - 2.0 * static_cast<double>(product[lag]) / both : 1.0;
  }
}

/// The mismatch `offset` lags from the middle one; offset is a whole number of steps.
double FinePeriod::at(double offset) const {
  const double whole = std::floor(offset);
  const auto step = static_cast<std::size_t>(std::lround((offset - whole) * steps_a_lag));
  const auto first = static_cast<std::size_t>(around + static_cast<std::ptrdiff_t>(whole) + 1 - reach);
  double sum = 0;
  for (std::size_t k = 0; k < kernels_[step].size(); ++k)
    sum += static_cast<double>(kernels_[step][k]) * mismatch_[first + k];
  return sum;
}

/// The place of the dip within a lag of `offset`, by a parabola through the deepest step and its neighbours;
/// not a number if the dip is not in there.
double FinePeriod::deepest_near(double offset) const {
  constexpr double step = 1.0 / steps_a_lag;
  double best = offset;
  for (int k = -steps_a_lag; k <= steps_a_lag; ++k)
    if (at(offset + k * step) < at(best)) best = offset + k * step;
  if (std::abs(best - offset) > 1.0 - step / 2) return std::nan("");
  const double left = at(best - step), middle = at(best), right = at(best + step);
  const double bend = left - 2.0 * middle + right;
  return bend > 0 ? best + step * 0.5 * (left - right) / bend : best;
}

/// Downhill from the middle lag, at most `search` lags.
std::ptrdiff_t FinePeriod::lowest_lag() const {
  const auto mismatch = [&](std::ptrdiff_t lag) { return mismatch_[static_cast<std::size_t>(around + lag)]; };
  std::ptrdiff_t lowest = 0;
  for (const std::ptrdiff_t to : {std::ptrdiff_t{-1}, std::ptrdiff_t{1}})
    while (std::abs(lowest + to) <= search && mismatch(lowest + to) < mismatch(lowest)) lowest += to;
  return lowest;
}

/// Of both halves together, so that it is the level about the frame's centre. Hann's weights are a half on
/// average.
float FinePeriod::level() const {
  const float both = own_energy_ + other_energy_;
  return std::sqrt(both / static_cast<float>(weights_.size()));
}

FinePitch FinePeriod::operator()(double centre_s, double rough_s) {
  const double rate = sound_.rate_hz;
  auto rough = static_cast<std::ptrdiff_t>(std::lround(rough_s * rate));
  std::ptrdiff_t lowest = search;
  for (int tries = 0; tries < 3 && std::abs(lowest) == search; ++tries) {
    compare(centre_s * rate, rough - around, window_for(rough_s, rate));
    lowest = lowest_lag();
    if (std::abs(lowest) == search) rough += lowest;  // a steep slide: look again from there
  }
  if (std::abs(lowest) == search) return {static_cast<float>(rough_s), 1.0F, level()};
  const auto mismatch = static_cast<float>(mismatch_[static_cast<std::size_t>(around + lowest)]);
  const double fine = (static_cast<double>(rough) + deepest_near(static_cast<double>(lowest))) / rate;
  return {static_cast<float>(std::isfinite(fine) && fine > 0 ? fine : rough_s), mismatch, level()};
}

}  // namespace burstloom
