// The temperatures of a whole stream.
#include "heat_walk.hpp"

namespace burstloom {
namespace {

// The curve: the highest of each of `points` equal stretches.
class Curve {
 public:
  Curve(const BurstStream& stream, std::size_t points, const Thermal& start) : points_(points) {
    if (points == 0) return;
    ticks_a_point_ =
        std::max<Tick>(1, (stream.length + static_cast<Tick>(points) - 1) / static_cast<Tick>(points));
    for (std::size_t i = 0; i < points; ++i)
      curve_.push_back({stream.seconds(static_cast<Tick>(i) * ticks_a_point_), kNone, kNone});
    next_ = ticks_a_point_;
    curve_[0] = {0, start.junction_c(), start.sink_c()};
  }

  void add(Tick at, double junction_c, double sink_c) {
    if (points_ == 0) return;
    while (at >= next_ && now_ + 1 < points_) ++now_, next_ += ticks_a_point_;
    HeatPoint& point = curve_[now_];
    point.junction_c = std::max(point.junction_c, junction_c);
    point.sink_c = std::max(point.sink_c, sink_c);
  }

  /// A silence, stretch by stretch: without this a pause would look as hot as the burst before it.
  void rest(Tick from, Tick until, Thermal state) {
    while (points_ > 0 && from < until) {
      const Tick to = now_ + 1 < points_ ? std::min(until, next_) : until;
      const double sink_c = state.rest(static_cast<double>(to - from) * state.network().seconds_per_tick());
      curve_[now_].sink_c = std::max(curve_[now_].sink_c, sink_c);
      add(to, state.junction_c(), state.sink_c());
      from = to;
    }
  }

  [[nodiscard]] std::vector<HeatPoint> taken() {
    for (std::size_t i = 1; i < curve_.size(); ++i) {
      if (curve_[i].junction_c == kNone) curve_[i].junction_c = curve_[i - 1].junction_c;
      if (curve_[i].sink_c == kNone) curve_[i].sink_c = curve_[i - 1].sink_c;
    }
    return std::move(curve_);
  }

 private:
  static constexpr double kNone = -1e300;
  std::size_t points_, now_ = 0;
  Tick ticks_a_point_ = 1, next_ = 1;
  std::vector<HeatPoint> curve_;
};

}  // namespace

HeatOfStream heat_of_stream(const HeatModel& model, const BurstStream& stream, const FiguresOf& figures_of,
                            const Thermal& start, std::size_t points) {
  HeatOfStream heat{.junction_c = start.junction_c(), .sink_c = start.sink_c(), .curve = {}, .at_end = start};
  heat.at_end.rest(0);  // what a song comes to depends on temperatures only, not on the song before
  PowerMemo powers(model, figures_of);
  Curve curve(stream, std::min<std::size_t>(points, 100'000), start);
  Tick junction_at = 0, sink_at = 0, ran_away_at = 0, last_end = 0;
  Thermal at_last_end = heat.at_end;
  const auto note_sink = [&](double sink, Tick at) {
    if (sink > heat.sink_c) heat.sink_c = sink, sink_at = at;
  };
  walk(
      stream, powers, heat.at_end,
      [&](const Burst& burst, double junction, const Thermal& state) {
        if (junction > heat.junction_c) heat.junction_c = junction, junction_at = burst.end();
        if (state.ran_away() && !heat.ran_away) heat.ran_away = true, ran_away_at = burst.end();
        const double sink = state.sink_c();
        note_sink(sink, burst.end());
        curve.add(burst.end(), junction, sink);
        if (points > 0) last_end = burst.end(), at_last_end = state;
      },
      [&](Tick until, double sink, const Thermal&) {
        note_sink(sink, until);
        curve.rest(last_end, until, at_last_end);
      });
  Thermal afterwards = heat.at_end;
  note_sink(afterwards.rest(kForEver), stream.length);
  heat.junction_at_s = stream.seconds(junction_at);
  heat.sink_at_s = stream.seconds(sink_at);
  heat.ran_away_at_s = stream.seconds(ran_away_at);
  heat.curve = curve.taken();
  return heat;
}

}  // namespace burstloom
