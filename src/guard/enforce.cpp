#include "on_time_history.hpp"
#include "windows.hpp"

namespace burstloom::guard_detail {
namespace {

void enforce_one(Line& line, const DutyBudget& budget, Tick on_min, Causes cause) {
  if (holds(line.items, budget)) return;
  OnTimeHistory history(line.items.size());
  for (Item& item : line.items) {
    const Tick on = longest_that_holds(item.start, item.on, budget, history);
    if (on < item.on) item.causes |= cause;
    if (on < on_min) {
      item.drop(0);
      continue;
    }
    item.on = on;
    history.add(item.start, item.on);
  }
  line.take_out_dropped();
}

}  // namespace

void enforce_duty(Line& line, const GateLimits& limits) {
  // Trimming and dropping only take on-time away, so a window that holds goes on holding.
  for (std::size_t i = 0; i < limits.duty.size(); ++i)
    enforce_one(line, limits.duty[i], limits.on_min, bit(Cause::duty, i));
}

}  // namespace burstloom::guard_detail
