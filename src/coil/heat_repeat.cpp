// A stream that is played again: its periodic state, and the rests that keep it inside.
#include <cmath>

#include "heat_walk.hpp"

namespace burstloom {
namespace {

using Modes = std::array<double, kMostModes>;

struct Playing {
  double junction_c = 0, sink_c = 0;
  bool ran_away = false;
  Modes at_end{};
};

class Repeats {
 public:
  Repeats(const HeatModel& model, const BurstStream& stream, const FiguresOf& figures_of)
      : stream_(stream), powers_(model, figures_of), rested_(model.network()) {
    length_s_ = static_cast<double>(stream.length) * model.network().seconds_per_tick();
  }

  [[nodiscard]] Playing play(const Modes& start) {
    Thermal state = rested_;
    state.set_modes(start);
    Playing playing{state.junction_c(), state.sink_c(), false, {}};
    walk(
        stream_, powers_, state,
        [&](const Burst&, double junction, const Thermal& now) {
          playing.junction_c = std::max(playing.junction_c, junction);
          playing.sink_c = std::max(playing.sink_c, now.sink_c());
        },
        [&](Tick, double sink, const Thermal&) { playing.sink_c = std::max(playing.sink_c, sink); });
    playing.at_end = state.modes();
    playing.ran_away = state.ran_away();
    playing.sink_c = std::max(playing.sink_c, state.rest(kForEver));
    return playing;
  }

  [[nodiscard]] Playing first() { return play(rested_.modes()); }

  [[nodiscard]] Modes after_rest(const Modes& modes, double rest_s) const {
    Modes later{};
    for (std::size_t k = 0; k < kMostModes; ++k)
      later[k] = modes[k] * std::exp(-rest_s / rested_.time_constant_s(k));
    return later;
  }

  // The state that comes back after the stream and a rest. With the losses as they are each mode's map is
  // x -> D x + h, and D is known: x* = h / (1 - D). Losses follow the temperature, so this is repeated from
  // below until what may still come is small, and that is added.
  [[nodiscard]] Playing periodic(double rest_s) {
    Modes start{};
    double moved_before = 0;
    for (int round = 0; round < kMostRounds; ++round) {
      const Playing playing = play(start);
      if (playing.ran_away) return playing;
      const Modes next = fixed_point(start, playing.at_end, rest_s);
      double moved = 0;
      for (std::size_t k = 0; k < kMostModes; ++k) moved += std::abs(next[k] - start[k]);
      const double ratio = moved_before > 0 ? moved / moved_before : 1;
      start = next;
      const double to_come = moved == 0 ? 0 : ratio < 1 ? moved * ratio / (1 - ratio) : 1;
      if (to_come < kCloseK) {
        start[0] += 2 * to_come;  // rather a little too hot than not quite there
        return play(start);
      }
      moved_before = moved;
    }
    Playing lost = play(start);  // still rising: the feedback has no end in sight
    lost.ran_away = true;
    return lost;
  }

 private:
  static constexpr int kMostRounds = 100;
  static constexpr double kCloseK = 1e-5;

  [[nodiscard]] Modes fixed_point(const Modes& start, const Modes& end, double rest_s) const {
    Modes point{};
    for (std::size_t k = 0; k < kMostModes; ++k) {
      const double tau = rested_.time_constant_s(k);
      if (!std::isfinite(tau)) continue;
      const double added = end[k] - start[k] * std::exp(-length_s_ / tau);
      point[k] = added * std::exp(-rest_s / tau) / -std::expm1(-(length_s_ + rest_s) / tau);
    }
    return point;
  }

  const BurstStream& stream_;
  PowerMemo powers_;
  Thermal rested_;
  double length_s_ = 0;
};

// The shortest rest for which `inside(rest)` holds, to 1 ms and never short of it; `inside` holds for longer
// ones.
template <class Inside>
std::optional<double> shortest_rest(Inside inside) {
  constexpr double kLongest = 86'400;
  if (inside(0.0)) return 0.0;
  double low = 0, high = 0.125;
  while (!inside(high)) {
    if (high >= kLongest) return std::nullopt;
    low = high;
    high = std::min(kLongest, high * 2);
  }
  while (high - low > 1e-3) {
    const double middle = (low + high) / 2;
    (inside(middle) ? high : low) = middle;
  }
  return high;
}

}  // namespace

RepeatedHeat repeated_heat(const HeatModel& model, const BurstStream& stream, const FiguresOf& figures_of,
                           const Limits& limits) {
  RepeatedHeat repeated;
  if (stream.length <= 0) {
    const Thermal rested(model.network());
    return {false, rested.junction_c(), rested.sink_c(), true, 0.0, 0.0};
  }
  Repeats repeats(model, stream, figures_of);
  const auto inside = [&](const Playing& playing) {
    return !playing.ran_away &&
           (!limits.junction_c || !model.judges_junction() || playing.junction_c <= *limits.junction_c) &&
           (!limits.heatsink_c || playing.sink_c <= *limits.heatsink_c);
  };
  const Playing without_rest = repeats.periodic(0);
  repeated.ran_away = without_rest.ran_away;
  repeated.junction_c = without_rest.junction_c;
  repeated.sink_c = without_rest.sink_c;
  const Playing first = repeats.first();
  if (!inside(first)) return repeated;
  repeated.may_loop = inside(without_rest);
  repeated.rest_before_next_s = shortest_rest(
      [&](double rest_s) { return inside(repeats.play(repeats.after_rest(first.at_end, rest_s))); });
  repeated.rest_between_all_s =
      repeated.may_loop ? 0.0
                        : shortest_rest([&](double rest_s) { return inside(repeats.periodic(rest_s)); });
  return repeated;
}

}  // namespace burstloom
