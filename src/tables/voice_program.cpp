#include "voice_program.hpp"

#include <algorithm>
#include <utility>

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

// A fade under way, for all rates of fading at once.
class Fades {
 public:
  explicit Fades(std::uint16_t on) : first_on_(on) {}

  /// One burst later it is to be `on`; false, and of no use any more, when none fades like that.
  bool step(std::optional<std::uint16_t> on) {
    const auto misses = [&](weaver_voice& voice) {
      weaver_fade(&voice);
      return on && voice.on >> 16 != *on;
    };
    if (!std::exchange(began_, true)) {
      // The gentlest first. Most runs end here: those that miss are not even kept.
      weaver_voice voice{};
      for (int rate = 0; rate <= 127; ++rate)
        for (const int fade : {rate, -rate}) {
          if (rate == 0 && fade == 0 && !fitting_.empty()) continue;
          weaver_set_on(&voice, first_on_, static_cast<std::int8_t>(fade));
          if (!misses(voice)) fitting_.push_back(voice);
        }
      return !fitting_.empty();
    }
    gentlest_ = fitting_.front().fade;
    fitting_.erase(std::remove_if(fitting_.begin(), fitting_.end(), misses), fitting_.end());
    return !fitting_.empty();
  }
  /// The gentlest that fits all steps but one that failed.
  [[nodiscard]] std::int8_t fade() const { return fitting_.empty() ? gentlest_ : fitting_.front().fade; }

 private:
  std::uint16_t first_on_;
  bool began_ = false;
  std::vector<weaver_voice> fitting_;
  std::int8_t gentlest_ = 0;
};

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

std::vector<OnRun> on_runs(const std::vector<std::optional<std::uint16_t>>& ons) {
  std::vector<OnRun> runs;
  for (std::size_t i = 0; i < ons.size();) {
    std::size_t known = i;
    while (known < ons.size() && !ons[known]) ++known;
    const std::uint16_t on = known < ons.size() ? *ons[known] : std::uint16_t{1};
    Fades fades(on);
    OnRun run{i, on, 0};
    for (++i; i < ons.size() && fades.step(ons[i]); ++i) {
    }
    run.fade = fades.fade();
    runs.push_back(run);
  }
  return runs;
}

}  // namespace burstloom::table_detail
