#include "burstloom/check/judge.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <iterator>

#include "burstloom/coil/outlook.hpp"
#include "burstloom/common/error.hpp"
#include "energy_view.hpp"
#include "gate_view.hpp"

namespace burstloom {
namespace {

using namespace judge_detail;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

// Collects the results of one judgement; the limits are judged one after another, in the order of the
// verdict.
class Judging {
 public:
  Judging(const BurstStream& stream, const Profile& profile, const JudgeOptions& options)
      : stream_(stream),
        profile_(profile),
        options_(options),
        limits_(tick_limits(profile, stream.tick_hz, options.measured)),
        unknown_(static_cast<Tick>(std::ceil(options.tolerance_us * limits_.ticks_per_us - 1e-6))),
        gate_(gate_view(stream.bursts, limits_.stretch)),
        stretched_(lengthened(gate_, limits_.stretch)),
        table_(current_table(profile)) {
    judgement_.tolerance_us = options.tolerance_us;
  }

  Judgement run() {
    judge_on_time_max();
    judge_on_time_min();
    judge_gap();
    judge_break_rate();
    for (std::size_t i = 0; i < limits_.duty.size(); ++i)
      judge_duty(profile_.limits.duty[i], limits_.duty[i]);
    judge_peak_current();
    judge_energy();
    name_what_is_not_judged();
    conclude();
    return std::move(judgement_);
  }

 private:
  [[nodiscard]] double us(Tick t) const { return static_cast<double>(t) / limits_.ticks_per_us; }
  [[nodiscard]] double on_at_gate_us(Tick on) const {
    return us(on) * (1 + limits_.clock) + limits_.stretch_us;
  }
  [[nodiscard]] double gap_at_gate_us(Tick gap) const {
    return us(gap) * (1 - limits_.clock) - limits_.stretch_us;
  }

  // A burst that the capture cuts is at least as long as it looks.
  [[nodiscard]] bool is_cut(std::size_t i) const {
    return (i == 0 && options_.first_is_cut) || (i + 1 == gate_.size() && options_.last_is_cut);
  }

  // Lists a violation of `limit`, or only counts it when the list for this limit is full.
  void violate(const LimitResult& limit, Tick at, double value) {
    ++judgement_.violations_in_all;
    if (found_.size() < kViolationsListed)
      found_.push_back({limit.limit, limit.unit, stream_.seconds(at), value, limit.allowed});
  }

  // `surely_past` and `perhaps_past`: whether any value is past the limit whatever the edges' uncertainty, or
  // could be.
  void add(LimitResult limit, bool surely_past, bool perhaps_past, bool higher_is_better = false) {
    limit.held = !surely_past && !perhaps_past;
    limit.unsure = !surely_past && perhaps_past;
    const double room = higher_is_better ? limit.worst - limit.allowed : limit.allowed - limit.worst;
    limit.margin_percent = limit.allowed > 0 ? 100 * room / limit.allowed : room < 0 ? -100.0 : 100.0;
    judgement_.limits.push_back(std::move(limit));
    std::move(found_.begin(), found_.end(), std::back_inserter(judgement_.violations));
    found_.clear();
  }

  void judge_on_time_max() {
    LimitResult limit{.limit = "on-time max", .unit = "us", .allowed = profile_.limits.on_time_max_us};
    Tick longest = 0;
    bool surely = false, perhaps = false;
    for (std::size_t i = 0; i < gate_.size(); ++i) {
      const Tick on = gate_[i].end - gate_[i].start;
      if (on > longest) {
        longest = on;
        limit.at_s = stream_.seconds(gate_[i].start);
      }
      perhaps |= on + unknown_ > limits_.on_max || is_cut(i);
      if (on - unknown_ <= limits_.on_max) continue;
      surely = true;
      violate(limit, gate_[i].start, on_at_gate_us(on));
    }
    limit.worst = longest > 0 ? on_at_gate_us(longest) : 0;
    limit.in_stream = us(longest);
    add(limit, surely, perhaps);
  }

  void judge_on_time_min() {
    LimitResult limit{.limit = "on-time min", .unit = "us", .allowed = profile_.limits.on_time_min_us};
    Tick shortest = kEndOfTime;
    bool surely = false, perhaps = false;
    for (std::size_t i = 0; i < gate_.size(); ++i) {
      if (is_cut(i)) continue;
      const Tick on = gate_[i].end - gate_[i].start;
      if (on < shortest) {
        shortest = on;
        limit.at_s = stream_.seconds(gate_[i].start);
      }
      perhaps |= on - unknown_ < limits_.on_min;
      if (on + unknown_ >= limits_.on_min) continue;
      surely = true;
      violate(limit, gate_[i].start, shortest_at_gate_us(on));
    }
    if (shortest == kEndOfTime) shortest = 0;
    limit.in_stream = us(shortest);
    limit.worst = shortest > 0 ? shortest_at_gate_us(shortest) : limit.allowed;
    add(limit, surely, perhaps, true);
  }
  [[nodiscard]] double shortest_at_gate_us(Tick on) const {
    return us(on) * (1 - limits_.clock) + limits_.stretch_us;
  }

  void judge_gap() {
    LimitResult limit{.limit = "gap", .unit = "us", .allowed = profile_.limits.gap_us};
    Tick shortest = kEndOfTime;
    bool surely = false, perhaps = false;
    const auto apart = gate_view(stream_.bursts, limits_.filled);
    for (std::size_t i = 1; i < apart.size(); ++i) {
      const Tick gap = apart[i].start - apart[i - 1].end;
      if (gap < shortest) {
        shortest = gap;
        limit.at_s = stream_.seconds(apart[i].start);
      }
      perhaps |= gap - unknown_ < limits_.gap;
      if (gap + unknown_ >= limits_.gap) continue;
      surely = true;
      violate(limit, apart[i].start, gap_at_gate_us(gap));
    }
    if (shortest == kEndOfTime) shortest = std::max(limits_.gap, stream_.length);  // fewer than two bursts
    limit.worst = gap_at_gate_us(shortest);
    limit.in_stream = us(shortest);
    add(limit, surely, perhaps, true);
  }

  // For windows that come in order: one violation for each run of overlapping windows past the limit, with
  // the worst of them.
  std::function<void(Tick, Tick)> runs_past(const LimitResult& limit, const WindowLimit& allowed,
                                            double unit) {
    return
        [this, &limit, allowed, unit, worst = Tick{0}, last = -kEndOfTime](Tick end, Tick content) mutable {
          if (content <= allowed.allowance) return;
          const bool new_run = end - last > allowed.window;
          last = end;
          if (new_run) {
            worst = content;
            violate(limit, end, static_cast<double>(content) * unit);
          } else if (content > worst && found_.size() < kViolationsListed) {
            worst = content;
            found_.back().at_s = stream_.seconds(end);
            found_.back().value = static_cast<double>(content) * unit;
          }
        };
  }

  void judge_break_rate() {
    if (limits_.starts.window == 0) return;
    LimitResult limit{.limit = "break rate", .unit = "Hz", .allowed = *profile_.limits.break_rate_hz};
    const auto [window, allowance] = limits_.starts;
    const auto ignore = [](Tick, Tick) {};
    const WorstWindow worst = busiest_window(gate_, window, ignore);
    limit.worst = 10.0 * static_cast<double>(worst.content);
    const Tick tenth = (stream_.tick_hz + 9) / 10;
    limit.in_stream = 10.0 * static_cast<double>(busiest_window(gate_, tenth, ignore).content);
    limit.at_s = stream_.seconds(worst.end);
    const Tick surely = busiest_window(gate_, std::max<Tick>(1, window - 2 * unknown_),
                                       runs_past(limit, limits_.starts, 10.0))
                            .content;
    const Tick perhaps = busiest_window(gate_, window + 2 * unknown_, ignore).content;
    add(limit, surely > allowance, perhaps > allowance);
  }

  void judge_duty(const DutyLimit& given, const WindowLimit& duty) {
    LimitResult limit{
        .limit = "duty " + number(given.window_ms) + " ms", .unit = "%", .allowed = given.percent};
    const auto ignore = [](Tick, Tick) {};
    const double window_ticks = given.window_ms * 1000 * limits_.ticks_per_us;
    const double percent_a_tick = 100 * (1 + limits_.clock) / window_ticks;
    const WorstWindow worst = fullest_window(stretched_, duty.window, ignore);
    limit.worst = static_cast<double>(worst.content) * percent_a_tick;
    limit.at_s = stream_.seconds(worst.end);
    const auto nominal = static_cast<Tick>(std::ceil(window_ticks - 1e-6));
    limit.in_stream =
        100 * static_cast<double>(fullest_window(gate_, nominal, ignore).content) / window_ticks;
    const auto past = runs_past(limit, duty, percent_a_tick);
    if (unknown_ == 0) {
      fullest_window(stretched_, duty.window, past);
      add(limit, worst.content > duty.allowance, false);
    } else {
      const Tick surely = fullest_window(lengthened(stretched_, -unknown_), duty.window, past).content;
      const Tick perhaps = fullest_window(lengthened(stretched_, unknown_), duty.window, ignore).content;
      add(limit, surely > duty.allowance, perhaps > duty.allowance);
    }
  }

  void judge_peak_current() {
    if (!profile_.limits.peak_current_a || !table_->knows_peak()) return;
    LimitResult limit{.limit = "peak current", .unit = "A", .allowed = *profile_.limits.peak_current_a};
    bool surely = false, perhaps = false, told = true;
    for (std::size_t i = 0; i < gate_.size(); ++i) {
      const double on_us = on_at_gate_us(gate_[i].end - gate_[i].start);
      const auto value = table_->peak_current_a(on_us), most = table_->peak_current_a(on_us + us(unknown_));
      if (value && *value > limit.worst) {
        limit.worst = *value;
        limit.at_s = stream_.seconds(gate_[i].start);
      }
      // Past what points and model tell the current is unknown; within an edge's uncertainty of it, perhaps.
      told &= most.has_value();
      perhaps |= !most || is_cut(i) || *most > limit.allowed * (1 + 1e-9);
      const auto least = table_->peak_current_a(std::max(0.0, on_us - us(unknown_)));
      if (!least || *least <= limit.allowed * (1 + 1e-9)) continue;
      surely = true;
      violate(limit, gate_[i].start, value.value_or(*least));
    }
    limit.in_stream = limit.worst;
    warn_of_detuning(limit.allowed);
    if (!told)
      judgement_.remarks.emplace_back("some bursts are longer than points or model can tell the current of");
    add(limit, surely, perhaps);
  }

  // A strike to earth or a hand near the coil detunes it: no limit, but to be known.
  void warn_of_detuning(double allowed_a) {
    Tick longest = 0;
    for (const Interval& interval : gate_) longest = std::max(longest, interval.end - interval.start);
    const auto detuned_a =
        longest > 0
            ? detuned_peak_a(profile_, std::min(on_at_gate_us(longest), profile_.limits.on_time_max_us))
            : std::nullopt;
    if (!detuned_a) return;
    char text[160];
    std::snprintf(
        text, sizeof text,
        "detuned by up to 5 %% (a strike to earth, a hand near the coil) the peak current may reach %.4g A%s",
        *detuned_a, *detuned_a > allowed_a ? ", over the limit" : "");
    judgement_.remarks.emplace_back(text);
  }

  // Limits on what goes with energy. Where edges are uncertain, with every burst as long and as short as it
  // may be.
  void judge_energy() {
    const Limits& given = profile_.limits;
    const EnergyGrounds grounds = energy_grounds(profile_, *table_);
    if (!grounds.has_model()) return;
    const auto view = [&](double longer_us) {
      return EnergyView(gate_, stream_.length, stream_.tick_hz, profile_, *table_, limits_, longer_us);
    };
    EnergyView as_it_is = view(0);
    const EnergyFigures figures = as_it_is.worst();
    const EnergyFigures least = unknown_ > 0 ? view(-us(unknown_)).worst() : figures;
    const EnergyFigures most = unknown_ > 0 ? view(us(unknown_)).worst() : figures;
    const bool cut = !gate_.empty() && (options_.first_is_cut || options_.last_is_cut);
    const auto judge_one = [&](const char* name, const char* unit, const std::optional<double>& allowed,
                               Worst EnergyFigures::*figure, double from = 0) {
      if (!allowed) return;
      LimitResult limit{.limit = name, .unit = unit, .worst = (figures.*figure).value, .allowed = *allowed};
      limit.in_stream = limit.worst;
      limit.at_s = stream_.seconds((figures.*figure).at);
      const double hair = 1e-9 * std::abs(*allowed);
      const bool surely = (least.*figure).value > *allowed + hair;
      if (surely) violate(limit, (figures.*figure).at, limit.worst);
      add(limit, surely, (most.*figure).value > *allowed + hair || cut);
      // Margins of temperatures are of the rise above ambient.
      judgement_.limits.back().margin_percent = 100 * (*allowed - limit.worst) / (*allowed - from);
    };
    judge_one("tank capacitor voltage", "V", given.tank_capacitor_v, &EnergyFigures::tank_v);
    judge_one("tank capacitor current", "A", given.tank_capacitor_a_rms, &EnergyFigures::tank_a_rms);
    if (profile_.drive.primary == PrimaryKind::current_fed)
      judge_one("switch voltage", "V", given.switch_v, &EnergyFigures::switch_v);
    const double ambient_c = profile_.heatsink.ambient_c;
    if (grounds.has_junction())
      judge_one("junction", "C", given.junction_c, &EnergyFigures::junction_c, ambient_c);
    if (grounds.has_sink())
      judge_one("heatsink", "C", given.heatsink_c, &EnergyFigures::heatsink_c, ambient_c);
    judge_one("supply", "W", given.supply_w, &EnergyFigures::supply_w);
    if (figures.ran_away) judgement_.remarks.emplace_back("thermal runaway: the junction passes 300 C");
    const bool outside = std::any_of(judgement_.limits.begin(), judgement_.limits.end(),
                                     [](const LimitResult& limit) { return !limit.held; });
    if (!outside && options_.seek_rest) rest_for_heat_s_ = as_it_is.rest_for_heat_s();
  }

  void name_what_is_not_judged() {
    const Limits& given = profile_.limits;
    const auto not_judged = [&](const char* limit, const std::string& why) {
      judgement_.not_judged.push_back({limit, why});
    };
    const std::string no_limit = "the profile sets no limit";
    const EnergyGrounds grounds = energy_grounds(profile_, *table_);
    const std::string no_model = "no model of the primary: " + grounds.why_no_model;
    if (!given.break_rate_hz) not_judged("break rate", no_limit);
    if (!given.peak_current_a)
      not_judged("peak current", no_limit);
    else if (!table_->knows_peak())
      not_judged("peak current", no_model + "; and no [measured] points that can be scaled to the bus");
    if (!grounds.has_model()) {
      if (given.tank_capacitor_v) not_judged("tank capacitor voltage", no_model);
      if (given.tank_capacitor_a_rms) not_judged("tank capacitor current", no_model);
    }
    if (given.switch_v) {
      if (profile_.drive.primary != PrimaryKind::current_fed)
        not_judged("switch voltage",
                   "it follows from the bus here; ringing of the leads is not in the model");
      else if (!grounds.has_model())
        not_judged("switch voltage", no_model);
    }
    if (!grounds.has_junction())
      not_judged("junction", !given.junction_c      ? no_limit
                             : !grounds.has_model() ? no_model
                             : !grounds.has_sink()  ? grounds.why_no_sink
                                                    : grounds.why_no_junction);
    else if (!given.junction_c)
      not_judged("junction", no_limit);
    if (!grounds.has_sink())
      not_judged("heatsink", !given.heatsink_c      ? no_limit
                             : !grounds.has_model() ? no_model
                                                    : grounds.why_no_sink);
    else if (!given.heatsink_c)
      not_judged("heatsink", no_limit);
    if (!given.supply_w)
      not_judged("supply", no_limit);
    else if (!grounds.has_model())
      not_judged("supply", no_model);
  }

  void conclude() {
    auto& violations = judgement_.violations;
    std::stable_sort(violations.begin(), violations.end(),
                     [](const Violation& a, const Violation& b) { return a.at_s < b.at_s; });
    if (violations.size() > kViolationsListed) violations.resize(kViolationsListed);
    const auto& limits = judgement_.limits;
    const bool outside = std::any_of(limits.begin(), limits.end(),
                                     [](const LimitResult& limit) { return !limit.held && !limit.unsure; });
    const bool unsure =
        std::any_of(limits.begin(), limits.end(), [](const LimitResult& limit) { return limit.unsure; });
    judgement_.verdict = outside  ? Verdict::outside_limits
                         : unsure ? Verdict::cannot_tell
                                  : Verdict::within_limits;
    if (judgement_.verdict != Verdict::within_limits || !options_.seek_rest) return;
    const auto millisecond = std::max<Tick>(1, stream_.tick_hz / 1000);
    const Tick rest = rest_before_repeat(stream_.bursts, stream_.length, limits_, millisecond);
    if (rest_for_heat_s_)
      judgement_.rest_before_repeat_s = std::max(stream_.seconds(rest), *rest_for_heat_s_);
  }

  const BurstStream& stream_;
  const Profile& profile_;
  const JudgeOptions& options_;
  TickLimits limits_;
  Tick unknown_;  // how far, in ticks, an edge may be from where the capture shows it
  std::vector<Interval> gate_, stretched_;
  std::shared_ptr<const CurrentTable> table_;
  std::optional<double> rest_for_heat_s_ = 0.0;
  std::vector<Violation> found_;  // of the limit being judged
  Judgement judgement_;
};

}  // namespace

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

Judgement judge(const BurstStream& stream, const Profile& profile, const JudgeOptions& options) {
  require_in_order(stream, "the stream to be judged");
  if (!(options.tolerance_us >= 0 && options.tolerance_us <= 5))
    throw Error(Fault::usage, "a tolerance of " + number(options.tolerance_us) + " us", "",
                "give one from 0 to 5 us: a larger one could hide a violation");
  return Judging(stream, profile, options).run();
}

}  // namespace burstloom
