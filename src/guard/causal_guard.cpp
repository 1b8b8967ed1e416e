#include "burstloom/guard/causal_guard.hpp"

#include <algorithm>
#include <cmath>

#include "burdens.hpp"
#include "burstloom/common/error.hpp"
#include "causal_weaver.hpp"
#include "kept.hpp"
#include "live_windows.hpp"

namespace burstloom {

using namespace guard_detail;

namespace {

constexpr std::size_t kMostVoices = 17;
constexpr std::int64_t kMostRemembered = 4'000'000;
constexpr double kShortWindow_s = 0.1;
constexpr double kRoom = 0.97;     // of an allowance is what turning down aims at
constexpr double kSinkBand = 0.1;  // of the allowed rise, over which losses shrink
constexpr double kWhole = 0x1p40;  // of a burden's most, in whole numbers

// A voice's bursts, as the gate sees them.
struct Asking {
  double period, on, kept;  // ticks; kept: the part of them that is not thinned away
  std::uint32_t weight;
  std::uint16_t voice;
};

// Of what is asked for, the gain that brings `full` down to `most`, if `least` is what no gain takes away.
double gain_for(double least, double full, double most) {
  if (full <= most) return 1;
  return full > least ? std::clamp((most - least) / (full - least), 0.0, 1.0) : 1;
}

// A leaky bucket (the shaping of ITU-T I.371): what flows out of it in a window can never be more than what
// the window allows. Steady music gets four fifths of the allowed rate for ever; a fifth of the allowance
// lies in store for what begins loud, and is given out ever more slowly, so that a held note gets softer
// smoothly.
class Bucket {
 public:
  Bucket(double most, double window)
      : rate_((1 - kStored) * most / window),
        depth_(kStored * most),
        stored_(depth_),
        drains_in_(window / 8) {}

  void wait_until(Tick now) {
    stored_ = std::min(depth_, stored_ + rate_ * static_cast<double>(std::max<Tick>(0, now - at_)));
    at_ = std::max(at_, now);
  }
  void take(double amount) { stored_ -= amount; }
  /// A tick.
  [[nodiscard]] double allowed_rate() const { return std::max(0.0, rate_ + stored_ / drains_in_); }

 private:
  static constexpr double kStored = 0.2;
  double rate_, depth_, stored_, drains_in_;
  Tick at_ = 0;
};

}  // namespace

class CausalGuard::Inside {
 public:
  Inside(const Profile& profile, std::int64_t tick_hz)
      : tick_hz_(static_cast<double>(tick_hz)),
        limits_(gate_limits(profile, tick_hz)),
        burdens_(profile, tick_hz, limits_),
        weaver_(limits_),
        longest_on_(limits_.on_max) {
    for (const DutyBudget& budget : limits_.duty)
      duty_.push_back(
          {budget, Kept(remembered(budget.window, most_bursts(budget))),
           Bucket(kRoom * static_cast<double>(budget.allowance), static_cast<double>(budget.window)), 0});
    if (limits_.start_window > 0)
      starts_.emplace(limits_.start_window, remembered(limits_.start_window, limits_.most_starts));
    for (const Burdens::Window& window : burdens_.windows()) {
      burdens_seen_.push_back({&window,
                               {},
                               StartWindow(window.window, remembered(window.window)),
                               Bucket(kRoom * kWhole, static_cast<double>(window.window))});
      for (const double weight : window.weight_of)
        burdens_seen_.back().parts.push_back(
            std::isfinite(window.most) && window.most > 0
                ? static_cast<std::int64_t>(std::min(std::ceil(weight / window.most * kWhole), 2 * kWhole))
                : static_cast<std::int64_t>(2 * kWhole));
    }
    if (burdens_.heat()) heat_.emplace(burdens_.heat()->network());
    thinned_.fill(0);
  }

  Settled settle(const WantedBurst& wanted, std::span<const Demand> demands) {
    Item item = item_of(wanted, 0, limits_);
    if (!item.dropped() && item.on > longest_on_) {
      item.on = longest_on_;
      item.causes |= bit(Cause::on_time_max);
    }
    ask(demands);
    if (!item.dropped()) thin(item);
    if (!item.dropped()) turn_down(item);
    if (!item.dropped()) {
      look_out(item, demands);
      weaver_.settle(item);
    }
    if (!item.dropped()) hold(item);
    if (!item.dropped()) make(item);
    const LedgerEntry entry = entry_of(item, limits_.stretch);
    return {entry.start, entry.on, entry.fate, entry.causes};
  }

  void set_longest_on(Tick on) {
    longest_on_ = std::clamp(on + limits_.stretch, std::min(limits_.on_min, limits_.on_max), limits_.on_max);
  }
  [[nodiscard]] Tick longest_on() const { return longest_on_ - limits_.stretch; }

  [[nodiscard]] GuardStanding standing(Tick now) const {
    GuardStanding standing;
    standing.gain = gain_;
    standing.duty.fill(-1);
    for (std::size_t i = 0; i < duty_.size(); ++i) {
      // What a window from the last burst's end holds; it only falls from there on.
      const double gone =
          static_cast<double>(std::max<Tick>(0, now - end_)) / static_cast<double>(duty_[i].budget.window);
      const double held = static_cast<double>(duty_[i].content) /
                          static_cast<double>(std::max<Tick>(1, duty_[i].budget.allowance));
      standing.duty[i] = gone < 1 ? held : 0;
    }
    if (starts_ && limits_.most_starts > 0)
      standing.break_rate =
          static_cast<double>(starts_->sum_from(now)) / static_cast<double>(limits_.most_starts);
    for (const SeenBurden& burden : burdens_seen_)
      (burden.of->cause == bit(Cause::supply) ? standing.supply : standing.tank_current) =
          static_cast<double>(burden.seen.sum_from(now)) / kWhole;
    if (heat_) {
      Thermal state = *heat_;
      state.gap(std::max<Tick>(0, now - end_));
      standing.knows_heat = true;
      standing.junction_c = state.junction_c();
      standing.sink_c = state.sink_c();
    }
    return standing;
  }

 private:
  struct Duty {
    DutyBudget budget;
    Kept kept;
    Bucket bucket;
    Tick content;  // of the window that ends with the last burst
  };
  struct SeenBurden {
    const Burdens::Window* of;
    std::vector<std::int64_t> parts;  // by ticks at the gate: of `most`, in whole numbers, rounded up
    StartWindow seen;
    Bucket bucket;
  };

  // Whole bursts, of the shortest on-time.
  [[nodiscard]] Tick most_bursts(const DutyBudget& budget) const { return budget.allowance / limits_.on_min; }

  // How many bursts a window may hold, of which the limit itself allows `most`.
  [[nodiscard]] std::size_t remembered(Tick window, std::int64_t most = kEndOfTime) const {
    most = std::min(most, window / (limits_.on_min + limits_.gap)) + 2;
    if (limits_.start_window > 0)
      most = std::min(most, (window / limits_.start_window + 2) * (limits_.most_starts + 1));
    if (most > kMostRemembered)
      throw Error(Fault::usage,
                  "a window of " + std::to_string(static_cast<double>(window) / tick_hz_) +
                      " s may hold more bursts than can be watched in real time",
                  "the profile's limits", "limit break_rate_hz, or leave so long a window to check");
    return static_cast<std::size_t>(std::max<std::int64_t>(most, 1));
  }

  // What the voices ask for, the most important first.
  void ask(std::span<const Demand> demands) {
    asking_count_ = 0;
    const double closest = static_cast<double>(limits_.on_min + limits_.gap);
    for (const Demand& demand : demands.first(std::min(demands.size(), kMostVoices))) {
      const Tick on =
          std::clamp(demand.next.on + limits_.stretch, std::min(limits_.on_min, longest_on_), longest_on_);
      asking_[asking_count_++] = {std::max(demand.period, closest), static_cast<double>(on), 1,
                                  demand.next.weight, demand.next.voice};
    }
    std::sort(asking_.begin(), asking_.begin() + asking_count_, [](const Asking& a, const Asking& b) {
      return a.weight != b.weight ? a.weight > b.weight : a.voice < b.voice;
    });
    if (starts_) share(static_cast<double>(limits_.start_window), static_cast<double>(limits_.most_starts));
    for (const Duty& duty : duty_)
      share(static_cast<double>(duty.budget.window), static_cast<double>(most_bursts(duty.budget)));
  }

  // Leaves each voice the part of its bursts for which those before it leave room, of `most` in a window.
  void share(double window, double most) {
    double room = most * kRoom;
    for (Asking& it : asking()) {
      const double bursts = window / it.period;
      it.kept = std::min(it.kept, std::clamp(room / bursts, 0.0, 1.0));
      room -= it.kept * bursts;
    }
  }

  [[nodiscard]] std::span<Asking> asking() {
    return {asking_.data(), static_cast<std::size_t>(asking_count_)};
  }

  // Evenly: of a voice that keeps two thirds of its bursts every third one goes.
  void thin(Item& item) {
    const auto all = asking();
    const auto own =
        std::find_if(all.begin(), all.end(), [&](const Asking& it) { return it.voice == item.voice; });
    if (own == all.end() || own->kept >= 1) return;
    double& sum = thinned_[std::min<std::size_t>(item.voice, kMostVoices - 1)];
    sum += own->kept;
    if (sum >= 1)
      sum -= 1;
    else
      item.drop(what_thins());
  }
  // Names the tightest of the limits that count bursts.
  [[nodiscard]] Causes what_thins() const {
    Causes cause = bit(Cause::break_rate);
    double least = starts_
                       ? static_cast<double>(limits_.most_starts) / static_cast<double>(limits_.start_window)
                       : 1e300;
    for (std::size_t i = 0; i < duty_.size(); ++i) {
      const DutyBudget& budget = duty_[i].budget;
      const double rate = static_cast<double>(most_bursts(budget)) / static_cast<double>(budget.window);
      if (rate < least) least = rate, cause = bit(Cause::duty, i);
    }
    return cause;
  }

  void turn_down(Item& item) {
    double gain = 1;
    const auto ask_for = [&](double asked, Causes cause) {
      if (asked < 1 && item.on > limits_.on_min) item.causes |= cause;
      gain = std::min(gain, asked);
    };
    for (std::size_t i = 0; i < duty_.size(); ++i)
      ask_for(duty_gain(duty_[i], item.start), bit(Cause::duty, i));
    for (SeenBurden& burden : burdens_seen_) ask_for(burden_gain(burden, item.start), burden.of->cause);
    gain_ = gain;
    if (item.on > limits_.on_min)
      item.on = limits_.on_min + static_cast<Tick>(gain * static_cast<double>(item.on - limits_.on_min));
    spare_the_sink(item);
  }

  double duty_gain(Duty& duty, Tick now) {
    const auto window = static_cast<double>(duty.budget.window), on_min = static_cast<double>(limits_.on_min);
    const bool is_short = window <= kShortWindow_s * tick_hz_;
    double least = 0, full = 0;  // a window, or a tick
    for (const Asking& it : asking()) {
      const double bursts = it.kept * (is_short ? std::floor(window / it.period) + 1 : 1 / it.period);
      least += bursts * std::min(on_min, it.on);
      full += bursts * it.on;
    }
    if (is_short) return gain_for(least, full, static_cast<double>(duty.budget.allowance));
    duty.bucket.wait_until(now);
    return gain_for(least, full, duty.bucket.allowed_rate());
  }

  double burden_gain(SeenBurden& burden, Tick now) {
    burden.bucket.wait_until(now);
    const double most = burden.bucket.allowed_rate();
    const auto asked_with = [&](double gain) {
      double sum = 0;
      for (const Asking& it : asking()) {
        const auto on_min = std::min(static_cast<double>(limits_.on_min), it.on);
        const auto on = static_cast<std::size_t>(on_min + gain * (it.on - on_min));
        sum += it.kept / it.period * static_cast<double>(burden.parts[on]);
      }
      return sum;
    };
    if (asked_with(1) <= most) return 1;
    double low = 0, high = 1;
    for (int i = 0; i < 10; ++i) {
      const double middle = (low + high) / 2;
      (asked_with(middle) <= most ? low : high) = middle;
    }
    return low;
  }

  void spare_the_sink(Item& item) {
    if (!heat_ || !std::isfinite(burdens_.heatsink_limit_c())) return;
    const double rise = burdens_.heatsink_limit_c() - burdens_.heat()->network().ambient_c();
    const double left = (burdens_.heatsink_limit_c() - heat_->sink_c()) / (kSinkBand * rise);
    if (left >= 1 || item.on <= limits_.on_min) return;
    const std::vector<double>& losses = burdens_.losses();
    item.on = longest_within(losses, losses[static_cast<std::size_t>(item.on)] * std::max(0.0, left),
                             limits_.on_min, item.on);
    item.causes |= bit(Cause::heatsink);
  }

  // Shows the weaver what the voices before this one want next.
  void look_out(const Item& item, std::span<const Demand> demands) {
    const int own = CausalWeaver::voice_of(item.voice);
    for (int voice = 0; voice < own; ++voice) weaver_.expect_nothing(voice);
    for (const Demand& demand : demands) {
      const int voice = CausalWeaver::voice_of(demand.next.voice);
      if (voice < own) weaver_.expect(voice, demand.next.start, demand.next.cap, CausalWeaver::wish_of(item));
    }
  }

  // The last word, exact, on what was made before and this one.
  void hold(Item& item) {
    if (starts_) {
      starts_->look_from(item.start);
      if (starts_->sum() >= limits_.most_starts) return item.drop(bit(Cause::break_rate));
    }
    for (std::size_t i = 0; i < duty_.size(); ++i) {
      const Tick on = longest_that_holds(item.start, item.on, duty_[i].budget, duty_[i].kept);
      if (on < item.on) item.causes |= bit(Cause::duty, i);
      if (on < limits_.on_min) return item.drop(0);
      item.on = on;
    }
    for (SeenBurden& burden : burdens_seen_) {
      burden.seen.look_from(item.start);
      const auto room = static_cast<std::int64_t>(kWhole) - burden.seen.sum();
      if (burden.parts[static_cast<std::size_t>(item.on)] <= room) continue;
      item.causes |= burden.of->cause;
      const auto first = burden.parts.begin() + limits_.on_min, last = burden.parts.begin() + item.on + 1;
      item.on = limits_.on_min + (std::upper_bound(first, last, room) - first) - 1;
      if (item.on < limits_.on_min) return item.drop(0);
    }
    if (heat_) burdens_.keep_cool(*heat_, item.start - end_, item);
  }

  void make(const Item& item) {
    weaver_.made(item);
    end_ = item.end();
    if (starts_) starts_->add(item.start, 1);
    for (Duty& duty : duty_) {
      duty.content = duty.kept.since(item.end() - duty.budget.window).content + item.on;
      duty.kept.add(item.start, item.on);
      duty.bucket.take(static_cast<double>(item.on));
    }
    for (SeenBurden& burden : burdens_seen_) {
      const std::int64_t part = burden.parts[static_cast<std::size_t>(item.on)];
      burden.seen.add(item.start, part);
      burden.bucket.take(static_cast<double>(part));
    }
  }

  double tick_hz_;
  GateLimits limits_;
  Burdens burdens_;
  CausalWeaver weaver_;
  Tick longest_on_;
  std::vector<Duty> duty_;
  std::optional<StartWindow> starts_;
  std::vector<SeenBurden> burdens_seen_;
  std::optional<Thermal> heat_;
  Tick end_ = 0;  // of the last burst made
  std::array<Asking, kMostVoices> asking_{};
  std::ptrdiff_t asking_count_ = 0;
  std::array<double, kMostVoices> thinned_{};
  double gain_ = 1;
};

CausalGuard::CausalGuard(const Profile& profile, std::int64_t tick_hz) {
  require_tick_rate(tick_hz);
  inside_ = std::make_unique<Inside>(profile, tick_hz);
}
CausalGuard::CausalGuard(CausalGuard&&) noexcept = default;
CausalGuard& CausalGuard::operator=(CausalGuard&&) noexcept = default;
CausalGuard::~CausalGuard() = default;

Settled CausalGuard::settle(const WantedBurst& wanted, std::span<const Demand> demands) noexcept {
  return inside_->settle(wanted, demands);
}
void CausalGuard::set_longest_on(Tick on) noexcept {
  inside_->set_longest_on(on);
}
Tick CausalGuard::longest_on() const noexcept {
  return inside_->longest_on();
}
GuardStanding CausalGuard::standing(Tick now) const noexcept {
  return inside_->standing(now);
}

}  // namespace burstloom
