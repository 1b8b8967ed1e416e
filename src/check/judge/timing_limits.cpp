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

bool OnTimeMax::take(const Seen& seen, bool is_cut) {
  const Tick on = seen.on(), unknown = ground_.unknown, most = ground_.limits.on_max;
  if (on > longest_) {
    longest_ = on;
    book_.result.at_s = ground_.seconds(seen.start);
  }
  book_.perhaps_past |= on + unknown > most || is_cut;
  if (on - unknown <= most) return false;
  book_.surely_past = true;
  book_.violate(ground_.seconds(seen.start), ground_.on_at_gate_us(on));
  return true;
}

LimitBook OnTimeMax::finish() {
  book_.result.worst = longest_ > 0 ? ground_.on_at_gate_us(longest_) : 0;
  book_.result.in_stream = ground_.us(longest_);
  return std::move(book_);
}

bool OnTimeMin::take(const Seen& seen, bool is_cut) {
  if (is_cut) return false;
  const Tick on = seen.on(), unknown = ground_.unknown, least = ground_.limits.on_min;
  if (on < shortest_) {
    shortest_ = on;
    book_.result.at_s = ground_.seconds(seen.start);
  }
  book_.perhaps_past |= on - unknown < least;
  if (on + unknown >= least) return false;
  book_.surely_past = true;
  book_.violate(ground_.seconds(seen.start), at_gate_us(on));
  return true;
}

LimitBook OnTimeMin::finish() {
  if (shortest_ == kEndOfTime) shortest_ = 0;
  book_.result.in_stream = ground_.us(shortest_);
  book_.result.worst = shortest_ > 0 ? at_gate_us(shortest_) : book_.result.allowed;
  book_.higher_is_better = true;
  return std::move(book_);
}

void Gap::take(std::span<const Burst> block) {
  const Tick ordinary = ground_.limits.gap + ground_.unknown;
  Joiner joiner = joiner_;
  for (const Burst& burst : block)
    joiner.take(burst, [&](const Interval& before, Tick next_start) {
      const Tick gap = next_start - before.end;
      if (gap < shortest_ || gap < ordinary) see(gap, next_start);
    });
  joiner_ = joiner;
}

void Gap::see(Tick gap, Tick next_start) {
  const Tick unknown = ground_.unknown, least = ground_.limits.gap;
  if (gap < shortest_) {
    shortest_ = gap;
    book_.result.at_s = ground_.seconds(next_start);
  }
  book_.perhaps_past |= gap - unknown < least;
  if (gap + unknown >= least) return;
  book_.surely_past = true;
  book_.violate(ground_.seconds(next_start), at_gate_us(gap));
}

LimitBook Gap::finish(Tick length) {
  if (shortest_ == kEndOfTime) shortest_ = std::max(ground_.limits.gap, length);  // fewer than two bursts
  book_.result.worst = at_gate_us(shortest_);
  book_.result.in_stream = ground_.us(shortest_);
  book_.higher_is_better = true;
  return std::move(book_);
}

void RunsPast::see_past(LimitBook& book, Tick end, Tick content) {
  const bool new_run = end - last_ > allowed_.window;
  last_ = end;
  const double value = static_cast<double>(content) * unit_;
  if (new_run) {
    worst_ = content;
    book.violate(ground_.seconds(end), value);
  } else if (content > worst_ && book.violations.size() < kViolationsListed) {
    worst_ = content;
    book.violations.back().at_s = ground_.seconds(end);
    book.violations.back().value = value;
  }
}

BreakRate::BreakRate(const Ground& ground)
    : ground_(ground),
      book_("break rate", "Hz", *ground.profile.limits.break_rate_hz),
      runs_(ground, ground.limits.starts, 10.0),
      worst_(ground.limits.starts.window, ground.unknown > 0 ? kNever : ground.limits.starts.allowance),
      in_stream_((ground.tick_hz + 9) / 10) {
  if (ground.unknown == 0) return;
  const Tick window = ground.limits.starts.window;
  surely_.emplace(std::max<Tick>(1, window - 2 * ground.unknown), ground.limits.starts.allowance);
  perhaps_.emplace(window + 2 * ground.unknown);
}

void BreakRate::take(const Recent<Seen>& gate, std::size_t from) {
  const auto see = [this](Tick end, Tick content) { runs_.see_past(book_, end, content); };
  slide(in_stream_, gate, from, kIgnore);
  if (!surely_) return slide(worst_, gate, from, see);
  slide(worst_, gate, from, kIgnore);
  slide(*surely_, gate, from, see);
  slide(*perhaps_, gate, from, kIgnore);
}

LimitBook BreakRate::finish() {
  const Tick allowance = ground_.limits.starts.allowance;
  const WorstWindow& worst = worst_.worst();
  book_.result.worst = 10.0 * static_cast<double>(worst.content);
  book_.result.in_stream = 10.0 * static_cast<double>(in_stream_.worst().content);
  book_.result.at_s = ground_.seconds(worst.end);
  book_.surely_past = (surely_ ? surely_->worst() : worst).content > allowance;
  book_.perhaps_past = (perhaps_ ? perhaps_->worst() : worst).content > allowance;
  return std::move(book_);
}

std::size_t BreakRate::oldest() const {
  return std::min({worst_.oldest(), in_stream_.oldest(), perhaps_ ? perhaps_->oldest() : worst_.oldest()});
}

Duty::Duty(const Ground& ground, std::size_t which)
    : ground_(ground),
      book_("duty " + number(ground.profile.limits.duty[which].window_ms) + " ms", "%",
            ground.profile.limits.duty[which].percent),
      allowance_(ground.limits.duty[which].allowance),
      window_ticks_(ground.profile.limits.duty[which].window_ms * 1000 * ground.limits.ticks_per_us),
      percent_a_tick_(100 * (1 + ground.limits.clock) / window_ticks_),
      runs_(ground, ground.limits.duty[which], percent_a_tick_),
      worst_(ground.limits.duty[which].window, ground.unknown > 0 ? kNever : allowance_),
      in_stream_(static_cast<Tick>(std::ceil(window_ticks_ - 1e-6))) {
  if (ground.unknown == 0) return;
  surely_.emplace(ground.limits.duty[which].window, allowance_);
  perhaps_.emplace(ground.limits.duty[which].window);
}

void Duty::take(const Recent<Seen>& gate, std::size_t from) {
  const auto see = [this](Tick end, Tick content) { runs_.see_past(book_, end, content); };
  const auto as_it_is = [](const Seen& it) { return it.end; };
  const auto as_stretched = [](const Seen& it) { return it.stretched_end; };
  const auto longer_by = [](Tick longer) {
    return [longer](const Seen& it) { return lengthened(it.start, it.stretched_end, longer, it.next_start); };
  };
  slide(in_stream_, gate, from, as_it_is, kIgnore);
  if (!surely_) return slide(worst_, gate, from, as_stretched, see);
  slide(worst_, gate, from, as_stretched, kIgnore);
  slide(*surely_, gate, from, longer_by(-ground_.unknown), see);
  slide(*perhaps_, gate, from, longer_by(ground_.unknown), kIgnore);
}

LimitBook Duty::finish() {
  const WorstWindow& worst = worst_.worst();
  book_.result.worst = static_cast<double>(worst.content) * percent_a_tick_;
  book_.result.at_s = ground_.seconds(worst.end);
  book_.result.in_stream = 100 * static_cast<double>(in_stream_.worst().content) / window_ticks_;
  book_.surely_past = (surely_ ? surely_->worst() : worst).content > allowance_;
  book_.perhaps_past = perhaps_ && perhaps_->worst().content > allowance_;
  return std::move(book_);
}

std::size_t Duty::oldest() const {
  const std::size_t certain = std::min(worst_.oldest(), in_stream_.oldest());
  return surely_ ? std::min({certain, surely_->oldest(), perhaps_->oldest()}) : certain;
}

}  // namespace burstloom::judge_detail
