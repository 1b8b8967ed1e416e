#include "burstloom/check/judge.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <iterator>

#include "burstloom/coil/outlook.hpp"
#include "burstloom/common/error.hpp"
#include "energy_limits.hpp"
#include "timing_limits.hpp"

namespace burstloom {

using namespace judge_detail;

// Hands intervals of the gate to the judges of single limits, and puts their trackers together in the order
// of the verdict.
class RunningJudge::Impl {
 public:
  Impl(const Profile& profile, std::int64_t tick_hz, const JudgeOptions& options)
      : context_(profile, tick_hz, options),
        first_is_cut_(options.first_is_cut),
        seek_rest_(options.seek_rest),
        table_(current_table(profile)),
        grounds_(energy_grounds(profile, *table_)),
        joiner_(context_.limits.stretch),
        reach_(reach_of_windows(context_.limits)) {
    const Limits& given = profile.limits;
    if (given.break_rate_hz) break_rate_.emplace(context_);
    for (std::size_t i = 0; i < given.duty.size(); ++i) duties_.emplace_back(context_, i);
    if (given.peak_current_a && table_->knows_peak()) peak_.emplace(context_);
    if (grounds_.has_sink()) thermal_.emplace(profile, context_.limits, tick_hz, grounds_.has_junction());
    if (grounds_.has_model()) energy_.emplace(context_, grounds_, thermal_ ? &*thermal_ : nullptr);
    std::vector<double> longer_us{0};
    if (context_.unknown > 0) longer_us = {0, -context_.us(context_.unknown), context_.us(context_.unknown)};
    costs_.emplace(profile, *table_, context_.limits, thermal_ ? &*thermal_ : nullptr, std::move(longer_us));
    judgement_.tolerance_us = options.tolerance_us;
  }

  void take(std::span<const Burst> block) {
    gap_.take(block);
    for (const Burst& burst : block)
      joiner_.take(burst, [this](const Interval& interval, Tick next_start) { note(interval, next_start); });
  }

  Judgement finish(Tick length, bool last_is_cut, const BurstStream* whole) {
    joiner_.finish([this](const Interval& interval, Tick next_start) { note(interval, next_start); });
    judge_noted(last_is_cut);
    add_with_margin(on_max_.finish());
    add_with_margin(on_min_.finish());
    add_with_margin(gap_.finish(length));
    if (break_rate_) add_with_margin(break_rate_->finish());
    for (Duty& duty : duties_) add_with_margin(duty.finish());
    if (peak_) add_peak_current();
    if (energy_) add_energy(length, gate_.size() > 0 && (first_is_cut_ || last_is_cut));
    name_what_is_not_judged();
    conclude(length, whole);
    return std::move(judgement_);
  }

 private:
  // An interval that is complete.
  void note(const Interval& interval, Tick next_start) {
    if (gate_.size() - judged_ == kBlock) judge_noted(false);
    gate_.push({interval.start, interval.end,
                lengthened(interval.start, interval.end, context_.limits.stretch, next_start), next_start});
  }

  // Each limit goes through all that was noted, one after the other: what it works with stays at hand.
  void judge_noted(bool last_is_cut) {
    std::array<OnTimeFigures*, kBlock> room;
    const std::span figures = std::span(room).first(gate_.size() - judged_);
    for (std::size_t i = 0; i < figures.size(); ++i) {
      const std::size_t number = judged_ + i;
      figures[i] = &costs_->of(gate_[number].on());
      const bool is_cut = (last_is_cut && number + 1 == gate_.size()) || (first_is_cut_ && number == 0);
      if (is_cut || !figures[i]->is_known) judge_alone(gate_[number], *figures[i], is_cut);
    }
    if (break_rate_) break_rate_->take(gate_, judged_);
    for (Duty& duty : duties_) duty.take(gate_, judged_);
    if (energy_) energy_->take(gate_, judged_, figures);
    if (!figures.empty()) note_ends();
    judged_ = gate_.size();
    forget();
  }

  // All that follows from the on-time alone.
  void judge_alone(const GateInterval& interval, OnTimeFigures& figures, bool is_cut) {
    bool is_past = on_max_.take(interval, is_cut);
    is_past |= on_min_.take(interval, is_cut);
    if (peak_) is_past |= peak_->take(interval, figures, is_cut);
    if (energy_) energy_->take_alone(interval, figures);
    figures.is_known = !is_past && !is_cut;
  }

  void note_ends() {
    if (judged_ == 0) ends_.first_start = gate_[0].start;
    for (std::size_t i = judged_; i < gate_.size(); ++i) {
      if (gate_[i].start < reach_) ends_.head.push_back({gate_[i].start, gate_[i].end});
      ends_.on_time += gate_[i].on() + context_.limits.stretch;
    }
    ends_.intervals = static_cast<Tick>(gate_.size());
    ends_.last_end = gate_[gate_.size() - 1].end;
    while (gate_[tail_].end <= ends_.last_end - reach_) ++tail_;
  }

  // What no window will reach any more.
  void forget() {
    std::size_t oldest = tail_;
    if (break_rate_) oldest = std::min(oldest, break_rate_->oldest());
    for (const Duty& duty : duties_) oldest = std::min(oldest, duty.oldest());
    if (energy_) oldest = std::min(oldest, energy_->forget(gate_.size()));
    gate_.forget_before(oldest);
    costs_->forget();
  }

  void add(LimitTracker tracker) {
    LimitResult& limit = tracker.result;
    limit.held = !tracker.surely_past && !tracker.perhaps_past;
    limit.unsure = !tracker.surely_past && tracker.perhaps_past;
    judgement_.violations_in_all += tracker.violations_in_all;
    std::move(tracker.violations.begin(), tracker.violations.end(),
              std::back_inserter(judgement_.violations));
    const auto& spans = tracker.spans.spans();
    judgement_.spans.insert(judgement_.spans.end(), spans.begin(), spans.end());
    judgement_.limits.push_back(std::move(limit));
  }

  void add_with_margin(LimitTracker tracker) {
    LimitResult& limit = tracker.result;
    const double room = tracker.higher_is_better ? limit.worst - limit.allowed : limit.allowed - limit.worst;
    limit.margin_percent = limit.allowed > 0 ? 100 * room / limit.allowed : room < 0 ? -100.0 : 100.0;
    add(std::move(tracker));
  }

  void add_peak_current() {
    add_with_margin(peak_->finish());
    warn_of_detuning(*context_.profile.limits.peak_current_a);
    if (!peak_->told())
      judgement_.remarks.emplace_back("some bursts are longer than points or model can tell the current of");
  }

  // A strike to earth or a hand near the coil detunes it: no limit, but to be known.
  void warn_of_detuning(double allowed_a) {
    const Tick longest = on_max_.longest();
    const auto detuned_a =
        longest > 0 ? detuned_peak_a(context_.profile, std::min(context_.on_at_gate_us(longest),
                                                                context_.profile.limits.on_time_max_us))
                    : std::nullopt;
    if (!detuned_a) return;
    char text[160];
    std::snprintf(
        text, sizeof text,
        "detuned by up to 5 %% (a strike to earth, a hand near the coil) the peak current may reach %.4g A%s",
        *detuned_a, *detuned_a > allowed_a ? ", over the limit" : "");
    judgement_.remarks.emplace_back(text);
  }

  void add_energy(Tick length, bool cut) {
    for (LimitTracker& tracker : energy_->finish(length, cut)) add(std::move(tracker));
    if (energy_->ran_away()) judgement_.remarks.emplace_back("thermal runaway: the junction passes 300 °C");
  }

  void name_what_is_not_judged() {
    const Limits& given = context_.profile.limits;
    const auto not_judged = [&](const char* limit, const std::string& why) {
      judgement_.not_judged.push_back({limit, why});
    };
    const std::string no_limit = "the profile sets no limit";
    const std::string no_model = "no model of the primary: " + grounds_.why_no_model;
    if (!given.break_rate_hz) not_judged("break rate", no_limit);
    if (!given.peak_current_a)
      not_judged("peak current", no_limit);
    else if (!table_->knows_peak())
      not_judged("peak current", no_model + "; and no [measured] points that can be scaled to the bus");
    if (!grounds_.has_model()) {
      if (given.tank_capacitor_v) not_judged("tank capacitor voltage", no_model);
      if (given.tank_capacitor_a_rms) not_judged("tank capacitor current", no_model);
    }
    if (given.switch_v) {
      if (context_.profile.drive.primary != PrimaryKind::current_fed)
        not_judged("switch voltage",
                   "it follows from the bus here; ringing of the leads is not in the model");
      else if (!grounds_.has_model())
        not_judged("switch voltage", no_model);
    }
    if (!grounds_.has_junction())
      not_judged("junction", !given.junction_c       ? no_limit
                             : !grounds_.has_model() ? no_model
                             : !grounds_.has_sink()  ? grounds_.why_no_sink
                                                     : grounds_.why_no_junction);
    else if (!given.junction_c)
      not_judged("junction", no_limit);
    if (!grounds_.has_sink())
      not_judged("heatsink", !given.heatsink_c       ? no_limit
                             : !grounds_.has_model() ? no_model
                                                     : grounds_.why_no_sink);
    else if (!given.heatsink_c)
      not_judged("heatsink", no_limit);
    if (!given.supply_w)
      not_judged("supply", no_limit);
    else if (!grounds_.has_model())
      not_judged("supply", no_model);
  }

  void conclude(Tick length, const BurstStream* whole) {
    auto& violations = judgement_.violations;
    std::stable_sort(violations.begin(), violations.end(),
                     [](const Violation& a, const Violation& b) { return a.at_s < b.at_s; });
    if (violations.size() > kViolationsListed) violations.resize(kViolationsListed);
    std::stable_sort(judgement_.spans.begin(), judgement_.spans.end(),
                     [](const ViolationSpan& a, const ViolationSpan& b) { return a.from_s < b.from_s; });
    const auto& limits = judgement_.limits;
    const bool outside = std::any_of(limits.begin(), limits.end(),
                                     [](const LimitResult& limit) { return !limit.held && !limit.unsure; });
    const bool unsure =
        std::any_of(limits.begin(), limits.end(), [](const LimitResult& limit) { return limit.unsure; });
    judgement_.verdict = outside  ? Verdict::outside_limits
                         : unsure ? Verdict::cannot_tell
                                  : Verdict::within_limits;
    if (seek_rest_ && judgement_.verdict == Verdict::within_limits) find_rest_before_repeat(length, whole);
  }

  void find_rest_before_repeat(Tick length, const BurstStream* whole) {
    ends_.length = length;
    for (std::size_t i = tail_; i < gate_.size(); ++i)
      if (gate_[i].end > length - reach_) ends_.tail.push_back({gate_[i].start, gate_[i].end});
    const auto millisecond = std::max<Tick>(1, context_.tick_hz / 1000);
    const double for_windows_s = context_.seconds(rest_before_repeat(ends_, context_.limits, millisecond));
    std::optional<double> for_heat_s = 0.0;
    if (thermal_ && gate_.size() > 0)
      for_heat_s = rest_for_heat_s(*thermal_, *energy_->cold_run(), context_.profile.limits, length,
                                   context_.limits.stretch, whole, *costs_);
    if (for_heat_s) judgement_.rest_before_repeat_s = std::max(for_windows_s, *for_heat_s);
    if (!for_heat_s && whole == nullptr)
      judgement_.remarks.emplace_back(
          "whether it may start again at once is not told: that takes trials of the whole, which is too "
          "long");
  }

  static constexpr std::size_t kBlock = 256;

  JudgeContext context_;
  bool first_is_cut_, seek_rest_;
  std::shared_ptr<const CurrentTable> table_;
  EnergyGrounds grounds_;
  std::optional<ThermalModel> thermal_;
  std::optional<BurstCosts> costs_;
  Joiner joiner_;
  RingBuffer<GateInterval> gate_;
  std::size_t judged_ = 0;  // so many of the gate
  OnTimeMax on_max_{context_};
  OnTimeMin on_min_{context_};
  Gap gap_{context_};
  std::optional<BreakRate> break_rate_;
  std::vector<Duty> duties_;
  std::optional<PeakCurrent> peak_;
  std::optional<EnergyLimits> energy_;
  SongEnds ends_;
  Tick reach_;
  std::size_t tail_ = 0;  // the first interval that reaches into the last `reach_`
  Judgement judgement_;
};

const char* name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::within_limits:
      return "within limits";
    case Verdict::outside_limits:
      return "outside limits";
    case Verdict::cannot_tell:
      break;
  }
  return "cannot tell";
}

RunningJudge::RunningJudge(const Profile& profile, std::int64_t tick_hz, const JudgeOptions& options) {
  if (!(options.tolerance_us >= 0 && options.tolerance_us <= 5)) {
    char told[32];
    std::snprintf(told, sizeof told, "%.10g", options.tolerance_us);
    throw Error(Fault::usage, "a tolerance of " + std::string(told) + " µs", "",
                "give one from 0 to 5 µs: a larger one could hide a violation");
  }
  impl_ = std::make_unique<Impl>(profile, tick_hz, options);
}
RunningJudge::RunningJudge(RunningJudge&&) noexcept = default;
RunningJudge::~RunningJudge() = default;

void RunningJudge::take(std::span<const Burst> block) {
  impl_->take(block);
}

Judgement RunningJudge::finish(Tick length, bool last_is_cut, const BurstStream* whole) {
  return impl_->finish(length, last_is_cut, whole);
}

Judgement judge(const BurstStream& stream, const Profile& profile, const JudgeOptions& options) {
  require_in_order(stream, "the stream to be judged");
  RunningJudge judge(profile, stream.tick_hz, options);
  judge.take(stream.bursts);
  return judge.finish(stream.length, options.last_is_cut, &stream);
}

}  // namespace burstloom
