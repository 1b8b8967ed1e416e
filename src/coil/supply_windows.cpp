// The worst window of a stream, wherever it lies.
#include <algorithm>
#include <cmath>

#include "burstloom/coil/supply.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

using Weight = std::function<double(Tick on)>;

// What all bursts before a tick weigh, the one that it cuts in part. Asked in rising order of ticks.
class RunningSum {
 public:
  RunningSum(const std::vector<Burst>& bursts, const std::vector<double>& weights)
      : bursts_(bursts), weights_(weights) {}

  [[nodiscard]] double before(Tick at) {
    for (; next_ < bursts_.size() && bursts_[next_].end() <= at; ++next_) whole_ += weights_[next_];
    if (next_ == bursts_.size() || bursts_[next_].start >= at) return whole_;
    const Burst& cut = bursts_[next_];
    return whole_ + weights_[next_] * static_cast<double>(at - cut.start) / static_cast<double>(cut.on);
  }

 private:
  const std::vector<Burst>& bursts_;
  const std::vector<double>& weights_;
  std::size_t next_ = 0;
  double whole_ = 0;
};

std::vector<double> weights_of(const std::vector<Burst>& bursts, const Weight& weight) {
  std::vector<double> weights;
  weights.reserve(bursts.size());
  for (const Burst& burst : bursts) weights.push_back(std::max(0.0, weight(burst.on)));
  return weights;
}

// As a window slides its sum changes at the rate that enters less the rate that leaves. That falls below zero
// only where a burst ends to enter or begins to leave: the fullest window ends with a burst or starts with
// one.
WorstWindow fullest(const std::vector<Burst>& bursts, const std::vector<double>& weights, Tick window) {
  WorstWindow worst;
  const auto try_all = [&](auto end_of_window) {
    RunningSum up_to_end(bursts, weights), up_to_start(bursts, weights);
    for (const Burst& burst : bursts) {
      const Tick end = end_of_window(burst);
      const double until_end = up_to_end.before(end);
      if (const double sum = until_end - up_to_start.before(end - window); sum > worst.sum)
        worst = {sum, end};
    }
  };
  try_all([](const Burst& burst) { return burst.end(); });
  try_all([&](const Burst& burst) { return burst.start + window; });
  return worst;
}

void require_window(Tick window) {
  if (window < 1 || window >= kEndOfTime)
    throw bad_input("a window is " + std::to_string(window) + " ticks long", "", "give a positive length");
}

}  // namespace

WorstWindow worst_window(const BurstStream& stream, Tick window, const Weight& weight) {
  require_window(window);
  return fullest(stream.bursts, weights_of(stream.bursts, weight), window);
}

bool surely_no_window_holds_more(const BurstStream& stream, Tick window, const Weight& weight, double most) {
  require_window(window);
  // A window lies in two cells of its own length, and what reaches into it from before starts in a third.
  constexpr double kRounding = 1e-9;
  double sums[3] = {};
  Tick cell = 0;
  for (const Burst& burst : stream.bursts) {
    if (burst.on > window) return false;
    for (const Tick last = burst.start / window; cell < last; ++cell) {
      if (last - cell > 3) cell = last - 3;
      sums[0] = sums[1], sums[1] = sums[2], sums[2] = 0;
    }
    sums[2] += std::max(0.0, weight(burst.on));
    if (!((sums[0] + sums[1] + sums[2]) * (1 + kRounding) <= most)) return false;
  }
  return true;
}

Tick mean_window_ticks(std::int64_t tick_hz, double clock_tolerance_percent) {
  return static_cast<Tick>(
      std::ceil(kMeanWindowS * static_cast<double>(tick_hz) / (1 - clock_tolerance_percent / 100)));
}

}  // namespace burstloom
