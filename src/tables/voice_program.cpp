#include "voice_program.hpp"

#include <algorithm>
#include <optional>

extern "C" {
#include "weaver.h"
}

namespace burstloom::table_detail {
namespace {

// The periods for which a train that stands in the middle of the tick `anchor` has its k-th burst in the tick
// `at`: anchor + 1/2 + k period lies in [at, at + 1).
class Periods {
 public:
  explicit Periods(Tick anchor) : anchor_(anchor) {}

  /// The next burst of the train is at `at`; false, and nothing changes, when no period does that.
  bool add(Tick at) {
    constexpr FinePeriod kHalf = FinePeriod{1} << 31;
    constexpr Tick kLongest = Tick{1} << 24, kFurthest = (Tick{1} << 31) - 2;  // twice it and kHalf still fit
    const Tick after = at - anchor_;
    const std::int64_t k = count_ + 1;
    if (after < k || after / k >= kLongest || after > kFurthest) return false;
    const FinePeriod low = std::max(low_, ((2 * after - 1) * kHalf + k - 1) / k);
    const FinePeriod high = std::min(high_, ((2 * after + 1) * kHalf - 1) / k);
    if (low > high || high >> 32 == 0) return false;
    low_ = low, high_ = high, count_ = k;
    return true;
  }
  [[nodiscard]] std::int64_t count() const { return count_; }
  [[nodiscard]] FinePeriod low() const { return low_; }
  [[nodiscard]] FinePeriod high() const { return high_; }

 private:
  Tick anchor_;
  std::int64_t count_ = 0;
  FinePeriod low_ = 0, high_ = (FinePeriod{1} << 56) - 1;
};

// The longest train from `anchor` on whose first burst is starts[first].
Periods longest_train(const std::vector<Tick>& starts, Tick anchor, std::size_t first) {
  Periods periods(anchor);
  for (std::size_t i = first; i < starts.size() && periods.add(starts[i]); ++i) {
  }
  return periods;
}

// A period of its own is worth its bytes for so many bursts.
constexpr std::int64_t kFewestBursts = 3;

using OnTimes = std::vector<std::optional<std::uint16_t>>;

// How many of the on-times after `first` an on-time that begins there as `on` and fades by `fade` gives.
std::size_t fitting(const OnTimes& ons, std::size_t first, std::uint16_t on, int fade) {
  weaver_voice voice{};
  weaver_set_on(&voice, on, static_cast<std::int8_t>(fade));
  std::size_t i = first + 1;
  for (; i < ons.size(); ++i) {
    if (fade != 0) weaver_fade(&voice);
    if (ons[i] && voice.on >> 16 != *ons[i]) break;
  }
  return i - first - 1;
}

// The fade that fits longest, of several the gentlest; `length` becomes what it fits. The steeper of two
// fades gives at no burst the longer on-time: those that fit so far lie side by side, so that beyond one that
// fits shorter none fits longer, and none does that goes the other way from what a steady on-time misses.
OnRun longest_fade(const OnTimes& ons, std::size_t first, std::uint16_t on, std::size_t& length) {
  OnRun run{first, on, 0};
  std::size_t before = length = fitting(ons, first, on, 0);
  const std::size_t missed = first + length + 1;
  if (missed >= ons.size()) return run;
  const int sign = *ons[missed] < on ? 1 : -1;
  for (int rate = 1; rate <= 127; ++rate) {
    const std::size_t fits = fitting(ons, first, on, sign * rate);
    if (fits < before) break;
    if (fits > length) length = fits, run.fade = static_cast<std::int8_t>(sign * rate);
    before = fits;
  }
  return run;
}

}  // namespace

std::vector<TrainRun> train_runs(const std::vector<Tick>& starts) {
  std::vector<TrainRun> runs;
  for (std::size_t i = 0; i < starts.size();) {
    const Tick before = i == 0 ? 0 : starts[i - 1];
    const Periods on = longest_train(starts, before, i), anew = longest_train(starts, starts[i], i + 1);
    if (i > 0 && on.count() > anew.count() && on.count() >= kFewestBursts) {
      runs.push_back({i, {}, true, on.low(), on.high()});
      i += static_cast<std::size_t>(on.count());
      continue;
    }
    const bool has_period = anew.count() >= kFewestBursts;
    runs.push_back({i, starts[i] - before, has_period, anew.low(), anew.high()});
    i += has_period ? static_cast<std::size_t>(anew.count()) + 1 : 1;
  }
  return runs;
}

std::vector<OnRun> on_runs(const OnTimes& ons) {
  std::vector<OnRun> runs;
  for (std::size_t i = 0, length = 0; i < ons.size(); i += length + 1) {
    std::size_t known = i;
    while (known < ons.size() && !ons[known]) ++known;
    runs.push_back(longest_fade(ons, i, known < ons.size() ? *ons[known] : std::uint16_t{1}, length));
  }
  return runs;
}

}  // namespace burstloom::table_detail
