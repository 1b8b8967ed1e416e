#include "duty_window.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::guard_detail {

DutyWindow::DutyWindow(const DutyBudget& budget, std::size_t capacity, Tick on_min, double short_window)
    : budget_(budget),
      history_(capacity),
      bucket_(kHeadroom * static_cast<double>(budget.allowance), static_cast<double>(budget.window)),
      on_min_(static_cast<double>(on_min)),
      is_short_(static_cast<double>(budget.window) <= short_window) {}

double DutyWindow::gain(std::span<const VoiceLoad> loads, Tick now) {
  const auto window = static_cast<double>(budget_.window);
  double least = 0, full = 0;  // per window, or per tick
  for (const VoiceLoad& load : loads) {
    const double bursts = load.kept * (is_short_ ? std::floor(window / load.period) + 1 : 1 / load.period);
    least += bursts * std::min(on_min_, load.on);
    full += bursts * load.on;
  }
  if (is_short_) return gain_for(least, full, static_cast<double>(budget_.allowance));
  bucket_.advance_to(now);
  return gain_for(least, full, bucket_.allowed_rate());
}

Tick DutyWindow::longest(Tick start, Tick on) {
  return longest_that_holds(start, on, budget_, history_);
}

void DutyWindow::add(Tick start, Tick on) {
  end_ = start + on;
  content_ = history_.since(end_ - budget_.window).content + on;
  history_.add(start, on);
  bucket_.take(static_cast<double>(on));
}

double DutyWindow::usage(Tick now) const {
  if (now - end_ >= budget_.window) return 0;
  return static_cast<double>(content_) / static_cast<double>(std::max<Tick>(1, budget_.allowance));
}

}  // namespace burstloom::guard_detail
