// One walk through a stream, burst by burst: what evaluation and the search for rests share.
#pragma once

#include <algorithm>

#include "burstloom/coil/heat.hpp"
#include "by_on_time.hpp"

namespace burstloom {

/// Powers by on-time.
class PowerMemo {
 public:
  PowerMemo(const HeatModel& model, const FiguresOf& figures_of) : model_(model), figures_of_(figures_of) {}

  [[nodiscard]] const PulsePower& of(Tick on) {
    return powers_.of(on, [&](Tick) { return model_.power(on, figures_of_(on)); });
  }

 private:
  const HeatModel& model_;
  const FiguresOf& figures_of_;
  ByOnTime<PulsePower> powers_;
};

/// In gaps up to this long (s) the sink is looked at only at bursts' ends: within a twentieth of its faster
/// time constant it moves on by less than a thousandth of what case and sink are apart.
[[nodiscard]] inline double longest_plain_gap_s(const Thermal& state) {
  const double fastest = std::min(state.time_constant_s(0), state.time_constant_s(1));
  return fastest / 20;
}

/// Takes `state` through the stream and the silence at its end. Calls `after_burst(burst, junction peak,
/// state)` and `after_gap(tick at its end, highest sink, state)`.
template <class AfterBurst, class AfterGap>
void walk(const BurstStream& stream, PowerMemo& powers, Thermal& state, AfterBurst after_burst,
          AfterGap after_gap) {
  const double per_tick = state.network().seconds_per_tick();
  const Tick plain =
      static_cast<Tick>(std::min(longest_plain_gap_s(state) / per_tick, static_cast<double>(kEndOfTime)));
  const auto rest_until = [&](Tick from, Tick until) {
    double sink = 0;
    if (until - from > plain) {
      sink = state.rest(static_cast<double>(until - from) * per_tick);
    } else {
      state.gap(until - from);
      sink = state.sink_c();
    }
    after_gap(until, sink, state);
  };
  Tick now = 0;
  for (const Burst& burst : stream.bursts) {
    const PulsePower& power = powers.of(burst.on);
    Tick off = burst.start - now;
    if (off > plain) rest_until(now, burst.start), off = 0;
    const double peak = state.gap_and_burst(off, burst.on, power);
    after_burst(burst, peak, state);
    now = burst.end();
  }
  rest_until(now, stream.length);
}

/// A silence that ends all: after it the sink has passed its highest.
inline constexpr double kForEver = 1e12;

}  // namespace burstloom
