#include "burstloom/guard/causal_guard.hpp"

#include <algorithm>

#include "burdens.hpp"
#include "burstloom/common/error.hpp"
#include "causal_weaver.hpp"
#include "decimator.hpp"
#include "duty_window.hpp"
#include "energy_window.hpp"
#include "live_heat.hpp"
#include "sliding_window.hpp"
#include "voice_loads.hpp"

namespace burstloom {

using namespace guard_detail;

namespace {

constexpr std::int64_t kMostRemembered = 4'000'000;
constexpr double kShortWindow_s = 0.1;

// How many bursts a window may hold, of which the limit itself allows `most`.
std::size_t capacity(const GateLimits& limits, double tick_hz, Tick window, std::int64_t most = kEndOfTime) {
  most = std::min(most, window / (limits.on_min + limits.gap)) + 2;
  if (limits.start_window > 0)
    most = std::min(most, (window / limits.start_window + 2) * (limits.most_starts + 1));
  if (most > kMostRemembered)
    throw Error(Fault::usage,
                "a window of " + std::to_string(static_cast<double>(window) / tick_hz) +
                    " s may hold more bursts than can be watched in real time",
                "the profile's limits", "limit break_rate_hz, or leave so long a window to check");
  return static_cast<std::size_t>(std::max<std::int64_t>(most, 1));
}

}  // namespace

class CausalGuard::Impl {
 public:
  Impl(const Profile& profile, std::int64_t tick_hz)
      : limits_(gate_limits(profile, tick_hz)),
        burdens_(profile, tick_hz, limits_),
        weaver_(limits_),
        longest_on_(limits_.on_max),
        loads_(limits_) {
    const auto hz = static_cast<double>(tick_hz);
    for (const DutyBudget& it : limits_.duty)
      duty_.emplace_back(it, capacity(limits_, hz, it.window, it.allowance / limits_.on_min), limits_.on_min,
                         kShortWindow_s * hz);
    if (limits_.start_window > 0)
      starts_.emplace(limits_.start_window, capacity(limits_, hz, limits_.start_window, limits_.most_starts));
    for (const Burdens::Window& it : burdens_.windows())
      energy_.emplace_back(it, capacity(limits_, hz, it.window), limits_.on_min);
    if (burdens_.heat()) heat_.emplace(burdens_, limits_.on_min);
  }

  PlacementResult settle(const WantedBurst& wanted, std::span<const VoiceRequest> requests) {
    Item item = item_of(wanted, 0, limits_);
    if (!item.dropped() && item.on > longest_on_) {
      item.on = longest_on_;
      item.causes |= bit(Cause::on_time_max);
    }
    loads_.update(requests, longest_on_);
    if (!item.dropped()) decimate(item);
    if (!item.dropped()) turn_down(item);
    if (!item.dropped()) {
      look_out(item, requests);
      weaver_.settle(item);
    }
    if (!item.dropped()) enforce(item);
    if (!item.dropped()) make(item);
    const LedgerEntry entry = entry_of(item, limits_.stretch);
    return {entry.start, entry.on, entry.fate, entry.causes};
  }

  void set_longest_on(Tick on) {
    longest_on_ = std::clamp(on + limits_.stretch, std::min(limits_.on_min, limits_.on_max), limits_.on_max);
  }
  [[nodiscard]] Tick longest_on() const { return longest_on_ - limits_.stretch; }

  [[nodiscard]] LimitUsage usage(Tick now) const {
    LimitUsage usage;
    usage.gain = gain_;
    usage.duty.fill(-1);
    for (std::size_t i = 0; i < duty_.size(); ++i) usage.duty[i] = duty_[i].usage(now);
    if (starts_ && limits_.most_starts > 0)
      usage.break_rate =
          static_cast<double>(starts_->sum_from(now)) / static_cast<double>(limits_.most_starts);
    for (const EnergyWindow& it : energy_)
      (it.cause() == bit(Cause::supply) ? usage.supply : usage.tank_current) = it.usage(now);
    if (heat_) {
      usage.knows_heat = true;
      const LiveHeat::Temperatures heat = heat_->at(now);
      usage.junction_c = heat.junction_c;
      usage.sink_c = heat.sink_c;
    }
    return usage;
  }

 private:
  void decimate(Item& item) {
    if (!decimator_.keeps(item.voice, loads_.kept_of(item.voice))) item.drop(loads_.decimated_by());
  }

  void turn_down(Item& item) {
    gain_ = 1;
    const auto reduce = [&](double gain, Causes cause) {
      if (gain < 1 && item.on > limits_.on_min) item.causes |= cause;
      gain_ = std::min(gain_, gain);
    };
    for (std::size_t i = 0; i < duty_.size(); ++i)
      reduce(duty_[i].gain(loads_.all(), item.start), bit(Cause::duty, i));
    for (EnergyWindow& it : energy_) reduce(it.gain(loads_.all(), item.start), it.cause());
    if (item.on > limits_.on_min)
      item.on = limits_.on_min + static_cast<Tick>(gain_ * static_cast<double>(item.on - limits_.on_min));
    if (heat_) heat_->spare_the_sink(item);
  }

  // Shows the weaver what the voices before this one want next.
  void look_out(const Item& item, std::span<const VoiceRequest> requests) {
    const int own = CausalWeaver::voice_of(item.voice);
    for (int voice = 0; voice < own; ++voice) weaver_.expect_nothing(voice);
    for (const VoiceRequest& request : requests) {
      const int voice = CausalWeaver::voice_of(request.next.voice);
      if (voice < own)
        weaver_.expect(voice, request.next.start, request.next.cap, CausalWeaver::wish_of(item));
    }
  }

  // The last word, exact, on what was made before and this one.
  void enforce(Item& item) {
    if (starts_) {
      starts_->look_from(item.start);
      if (starts_->sum() >= limits_.most_starts) return item.drop(bit(Cause::break_rate));
    }
    for (std::size_t i = 0; i < duty_.size() && !item.dropped(); ++i)
      shorten(item, duty_[i].longest(item.start, item.on), bit(Cause::duty, i));
    for (auto it = energy_.begin(); it != energy_.end() && !item.dropped(); ++it)
      shorten(item, it->longest(item.start, item.on), it->cause());
    if (heat_ && !item.dropped()) heat_->make(item);
  }

  void shorten(Item& item, Tick on, Causes cause) const {
    if (on >= item.on) return;
    if (on < limits_.on_min) return item.drop(cause);
    item.causes |= cause;
    item.on = on;
  }

  void make(const Item& item) {
    weaver_.made(item);
    if (starts_) starts_->add(item.start, 1);
    for (DutyWindow& it : duty_) it.add(item.start, item.on);
    for (EnergyWindow& it : energy_) it.add(item.start, item.on);
  }

  GateLimits limits_;
  Burdens burdens_;
  CausalWeaver weaver_;
  Tick longest_on_;
  VoiceLoads loads_;
  Decimator<kMostVoices> decimator_;
  std::vector<DutyWindow> duty_;
  std::optional<SlidingWindow> starts_;
  std::vector<EnergyWindow> energy_;
  std::optional<LiveHeat> heat_;
  double gain_ = 1;
};

CausalGuard::CausalGuard(const Profile& profile, std::int64_t tick_hz) {
  require_tick_rate(tick_hz);
  impl_ = std::make_unique<Impl>(profile, tick_hz);
}
CausalGuard::CausalGuard(CausalGuard&&) noexcept = default;
CausalGuard& CausalGuard::operator=(CausalGuard&&) noexcept = default;
CausalGuard::~CausalGuard() = default;

PlacementResult CausalGuard::settle(const WantedBurst& wanted,
                                    std::span<const VoiceRequest> requests) noexcept {
  return impl_->settle(wanted, requests);
}
void CausalGuard::set_longest_on(Tick on) noexcept {
  impl_->set_longest_on(on);
}
Tick CausalGuard::longest_on() const noexcept {
  return impl_->longest_on();
}
LimitUsage CausalGuard::usage(Tick now) const noexcept {
  return impl_->usage(now);
}

}  // namespace burstloom
