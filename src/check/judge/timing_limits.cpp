#include "timing_limits.hpp"

#include <cstdio>

namespace burstloom::judge_detail {
namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

}  // namespace

bool OnTimeMax::take(const GateInterval& interval, bool is_cut) {
  const Tick on = interval.on(), unknown = context_.unknown, most = context_.limits.on_max;
  if (on > longest_) {
    longest_ = on;
    tracker_.result.at_s = context_.seconds(interval.start);
  }
  tracker_.perhaps_past |= on + unknown > most || is_cut;
  if (on - unknown <= most) return false;
  tracker_.surely_past = true;
  tracker_.violate(context_.seconds(interval.start), context_.on_at_gate_us(on));
  return true;
}

LimitTracker OnTimeMax::finish() {
  tracker_.result.worst = longest_ > 0 ? context_.on_at_gate_us(longest_) : 0;
  tracker_.result.in_stream = context_.us(longest_);
  return std::move(tracker_);
}

bool OnTimeMin::take(const GateInterval& interval, bool is_cut) {
  if (is_cut) return false;
  const Tick on = interval.on(), unknown = context_.unknown, least = context_.limits.on_min;
  if (on < shortest_) {
    shortest_ = on;
    tracker_.result.at_s = context_.seconds(interval.start);
  }
  tracker_.perhaps_past |= on - unknown < least;
  if (on + unknown >= least) return false;
  tracker_.surely_past = true;
  tracker_.violate(context_.seconds(interval.start), at_gate_us(on));
  return true;
}

LimitTracker OnTimeMin::finish() {
  if (shortest_ == kEndOfTime) shortest_ = 0;
  tracker_.result.in_stream = context_.us(shortest_);
  tracker_.result.worst = shortest_ > 0 ? at_gate_us(shortest_) : tracker_.result.allowed;
  tracker_.higher_is_better = true;
  return std::move(tracker_);
}

void Gap::take(std::span<const Burst> block) {
  const Tick ordinary = context_.limits.gap + context_.unknown;
  Joiner joiner = joiner_;
  for (const Burst& burst : block)
    joiner.take(burst, [&](const Interval& before, Tick next_start) {
      const Tick gap = next_start - before.end;
      if (gap < shortest_ || gap < ordinary) see(gap, next_start);
    });
  joiner_ = joiner;
}

void Gap::see(Tick gap, Tick next_start) {
  const Tick unknown = context_.unknown, least = context_.limits.gap;
  if (gap < shortest_) {
    shortest_ = gap;
    tracker_.result.at_s = context_.seconds(next_start);
  }
  tracker_.perhaps_past |= gap - unknown < least;
  if (gap + unknown >= least) return;
  tracker_.surely_past = true;
  tracker_.violate(context_.seconds(next_start), at_gate_us(gap));
}

LimitTracker Gap::finish(Tick length) {
  if (shortest_ == kEndOfTime) shortest_ = std::max(context_.limits.gap, length);  // fewer than two bursts
  tracker_.result.worst = at_gate_us(shortest_);
  tracker_.result.in_stream = context_.us(shortest_);
  tracker_.higher_is_better = true;
  return std::move(tracker_);
}

void ViolationRuns::see_past(LimitTracker& tracker, Tick end, Tick content) {
  const bool new_run = end - last_ > allowed_.window;
  last_ = end;
  const double value = static_cast<double>(content) * unit_;
  if (!new_run) tracker.spans.extend(context_.seconds(end), value);
  if (new_run) {
    worst_ = content;
    tracker.violate(context_.seconds(end), value);
  } else if (content > worst_ && tracker.violations.size() < kViolationsListed) {
    worst_ = content;
    tracker.violations.back().at_s = context_.seconds(end);
    tracker.violations.back().value = value;
  }
}

BreakRate::BreakRate(const JudgeContext& context)
    : context_(context),
      tracker_("break rate", "Hz", *context.profile.limits.break_rate_hz),
      runs_(context, context.limits.starts, 10.0),
      worst_(context.limits.starts.window, context.unknown > 0 ? kNever : context.limits.starts.allowance),
      in_stream_((context.tick_hz + 9) / 10) {
  if (context.unknown == 0) return;
  const Tick window = context.limits.starts.window;
  surely_.emplace(std::max<Tick>(1, window - 2 * context.unknown), context.limits.starts.allowance);
  perhaps_.emplace(window + 2 * context.unknown);
}

void BreakRate::take(const RingBuffer<GateInterval>& gate, std::size_t from) {
  const auto see = [this](Tick end, Tick content) { runs_.see_past(tracker_, end, content); };
  slide(in_stream_, gate, from, kIgnore);
  if (!surely_) return slide(worst_, gate, from, see);
  slide(worst_, gate, from, kIgnore);
  slide(*surely_, gate, from, see);
  slide(*perhaps_, gate, from, kIgnore);
}

LimitTracker BreakRate::finish() {
  const Tick allowance = context_.limits.starts.allowance;
  const WorstWindow& worst = worst_.worst();
  tracker_.result.worst = 10.0 * static_cast<double>(worst.content);
  tracker_.result.in_stream = 10.0 * static_cast<double>(in_stream_.worst().content);
  tracker_.result.at_s = context_.seconds(worst.end);
  tracker_.surely_past = (surely_ ? surely_->worst() : worst).content > allowance;
  tracker_.perhaps_past = (perhaps_ ? perhaps_->worst() : worst).content > allowance;
  return std::move(tracker_);
}

std::size_t BreakRate::oldest() const {
  return std::min({worst_.oldest(), in_stream_.oldest(), perhaps_ ? perhaps_->oldest() : worst_.oldest()});
}

Duty::Duty(const JudgeContext& context, std::size_t which)
    : context_(context),
      tracker_("duty " + number(context.profile.limits.duty[which].window_ms) + " ms", "%",
               context.profile.limits.duty[which].percent),
      allowance_(context.limits.duty[which].allowance),
      window_ticks_(context.profile.limits.duty[which].window_ms * 1000 * context.limits.ticks_per_us),
      percent_per_tick_(100 * (1 + context.limits.clock) / window_ticks_),
      runs_(context, context.limits.duty[which], percent_per_tick_),
      worst_(context.limits.duty[which].window, context.unknown > 0 ? kNever : allowance_),
      in_stream_(static_cast<Tick>(std::ceil(window_ticks_ - 1e-6))) {
  if (context.unknown == 0) return;
  surely_.emplace(context.limits.duty[which].window, allowance_);
  perhaps_.emplace(context.limits.duty[which].window);
}

void Duty::take(const RingBuffer<GateInterval>& gate, std::size_t from) {
  const auto see = [this](Tick end, Tick content) { runs_.see_past(tracker_, end, content); };
  const auto as_it_is = [](const GateInterval& it) { return it.end; };
  const auto as_stretched = [](const GateInterval& it) { return it.stretched_end; };
  const auto longer_by = [](Tick longer) {
    return [longer](const GateInterval& it) {
      return lengthened(it.start, it.stretched_end, longer, it.next_start);
    };
  };
  slide(in_stream_, gate, from, as_it_is, kIgnore);
  if (!surely_) return slide(worst_, gate, from, as_stretched, see);
  slide(worst_, gate, from, as_stretched, kIgnore);
  slide(*surely_, gate, from, longer_by(-context_.unknown), see);
  slide(*perhaps_, gate, from, longer_by(context_.unknown), kIgnore);
}

LimitTracker Duty::finish() {
  const WorstWindow& worst = worst_.worst();
  tracker_.result.worst = static_cast<double>(worst.content) * percent_per_tick_;
  tracker_.result.at_s = context_.seconds(worst.end);
  tracker_.result.in_stream = 100 * static_cast<double>(in_stream_.worst().content) / window_ticks_;
  tracker_.surely_past = (surely_ ? surely_->worst() : worst).content > allowance_;
  tracker_.perhaps_past = perhaps_ && perhaps_->worst().content > allowance_;
  return std::move(tracker_);
}

std::size_t Duty::oldest() const {
  const std::size_t certain = std::min(worst_.oldest(), in_stream_.oldest());
  return surely_ ? std::min({certain, surely_->oldest(), perhaps_->oldest()}) : certain;
}

}  // namespace burstloom::judge_detail
