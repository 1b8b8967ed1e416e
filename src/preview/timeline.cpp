#include "burstloom/preview/timeline.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <span>
#include <string>
#include <unordered_map>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/common/error.hpp"
#include "running_window.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;

// The part of the stream that is looked at, cut into stretches of whole ticks.
struct Stretches {
  const BurstStream& stream;
  Tick from, until;
  Tick columns;

  [[nodiscard]] Tick begin(Tick column) const { return from + (until - from) * column / columns; }
  [[nodiscard]] double middle_s(Tick column) const {
    return (stream.seconds(begin(column)) + stream.seconds(begin(column + 1))) / 2;
  }
  [[nodiscard]] std::size_t most_points() const { return 4 * static_cast<std::size_t>(columns); }
};

Stretches stretches_of(const BurstStream& stream, const View& view) {
  require_in_order(stream, "the stream to be shown");
  const Tick until = std::min(view.until, stream.length);
  if (view.columns < 1 || view.columns > 4096)
    throw Error(Fault::usage, "a timeline of " + std::to_string(view.columns) + " columns", "",
                "give 1 to 4096");
  if (view.from < 0 || view.from >= until)
    throw Error(Fault::usage, "there is nothing between the two moments asked for", "",
                "give a view that begins before it ends, within the stream");
  return {stream, view.from, until, std::min(static_cast<Tick>(view.columns), until - view.from)};
}

struct Extremes {
  double low = INFINITY, high = -INFINITY;
  void take(double value) { low = std::min(low, value), high = std::max(high, value); }
};

// Every corner of a running window, and the view's two ends.
template <class Running>
std::vector<SeriesPoint> every_corner(Running running, Corners corners, const Stretches& view, double unit) {
  std::vector<SeriesPoint> points;
  const auto add = [&](Tick t) {
    const double value = unit * static_cast<double>(running(t));
    points.push_back({view.stream.seconds(t), value, value});
  };
  add(view.from);
  for (Tick t; (t = corners.next(view.until - 1)) >= 0;) add(t);
  add(view.until);
  return points;
}

// The least and the greatest value within each stretch: at its ends and at every corner in it. A course of
// steps has its value at the end of a stretch only after it.
template <class Running>
std::vector<SeriesPoint> thinned(Running running, Corners corners, const Stretches& view, double unit) {
  std::vector<SeriesPoint> points;
  double value = unit * static_cast<double>(running(view.from));
  for (Tick column = 0; column < view.columns; ++column) {
    Extremes extremes;
    extremes.take(value);
    const Tick end = view.begin(column + 1);
    for (Tick t; (t = corners.next(end - 1)) >= 0;) extremes.take(unit * static_cast<double>(running(t)));
    value = unit * static_cast<double>(running(end));
    if (!Running::kSteps) extremes.take(value);
    points.push_back({view.middle_s(column), extremes.low, extremes.high});
    (void)corners.next(end);  // its value is known already
  }
  return points;
}

template <class Running>
Series running_series(std::string name, std::string unit, Tick window, double a_tick, const Stretches& view) {
  const auto& bursts = view.stream.bursts;
  const std::vector<Tick> edges = Running::corners(bursts);
  const Corners corners(edges, window, view.from);
  const Running running(bursts, window);
  const bool exact = corners.up_to(view.until) <= view.most_points();
  return {std::move(name),
          std::move(unit),
          Running::kSteps ? Course::steps : Course::straight,
          exact,
          exact ? every_corner(running, corners, view, a_tick) : thinned(running, corners, view, a_tick),
          std::nullopt};
}

// The bursts that start within the view.
std::span<const Burst> started_in(const Stretches& view) {
  const auto before = [](const Burst& burst, Tick t) { return burst.start < t; };
  const auto& bursts = view.stream.bursts;
  const auto first = std::lower_bound(bursts.begin(), bursts.end(), view.from, before);
  return {first, std::lower_bound(first, bursts.end(), view.until, before)};
}

template <class Value>
Series burst_series(std::string name, std::string unit, const Stretches& view, Value value) {
  const std::span<const Burst> bursts = started_in(view);
  Series series{
      std::move(name), std::move(unit), Course::bursts, bursts.size() <= view.most_points(), {}, {}};
  if (series.exact) {
    for (const Burst& burst : bursts)
      series.points.push_back({view.stream.seconds(burst.start), value(burst), value(burst)});
    return series;
  }
  auto next = bursts.begin();
  for (Tick column = 0; column < view.columns; ++column) {
    Extremes extremes;
    for (; next != bursts.end() && next->start < view.begin(column + 1); ++next) extremes.take(value(*next));
    if (extremes.low <= extremes.high)
      series.points.push_back({view.middle_s(column), extremes.low, extremes.high});
  }
  return series;
}

std::string window_name(const DutyLimit& duty) {
  char text[48];
  std::snprintf(text, sizeof text, "duty %.10g ms", duty.window_ms);
  return text;
}

Series duty_series(const DutyLimit& duty, const Stretches& view) {
  const double ticks = duty.window_ms / 1000 * static_cast<double>(view.stream.tick_hz);
  const auto window =
      static_cast<Tick>(std::clamp(std::ceil(ticks - 1e-6), 1.0, static_cast<double>(kEndOfTime)));
  return running_series<RunningOnTime>(window_name(duty), "%", window, 100 / ticks, view);
}

// Songs have few different on-times: each current is looked up once.
Series current_series(const CurrentTable& current, const Profile& profile, const Stretches& view,
                      bool measured) {
  const double clock = measured ? 0.0 : profile.drive.clock_tolerance_percent / 100;
  const double stretch_us = measured ? 0.0 : profile.drive.pulse_stretch_ns / 1000;
  std::unordered_map<Tick, double> known;
  return burst_series("peak current", "A", view, [&](const Burst& burst) {
    const auto [entry, is_new] = known.try_emplace(burst.on);
    const double on_us = view.stream.microseconds(burst.on) * (1 + clock) + stretch_us;
    if (is_new) entry->second = current.peak_current_a(on_us).value_or(0);
    return entry->second;
  });
}

void attach(const Judgement& judgement, Series& series) {
  const std::string limit = series.name == "on-time" ? "on-time max" : series.name;
  for (const LimitResult& result : judgement.limits)
    if (result.limit == limit) series.judged = result;
}

// The bursts that touch the view, unless there are more than it can show.
void show_bursts(const Stretches& view, Timeline& timeline) {
  const auto& bursts = view.stream.bursts;
  const auto first = std::partition_point(bursts.begin(), bursts.end(),
                                          [&](const Burst& burst) { return burst.end() <= view.from; });
  const auto past =
      std::partition_point(first, bursts.end(), [&](const Burst& burst) { return burst.start < view.until; });
  timeline.every_burst = static_cast<std::size_t>(past - first) <= view.most_points();
  if (timeline.every_burst) timeline.bursts.assign(first, past);
}

}  // namespace

Timeline make_timeline(const BurstStream& stream, const Profile& profile, const Judgement& judgement,
                       const View& view) {
  const Stretches stretches = stretches_of(stream, view);
  Timeline timeline;
  timeline.from_s = stream.seconds(stretches.from);
  timeline.until_s = stream.seconds(stretches.until);
  timeline.columns = static_cast<std::size_t>(stretches.columns);
  show_bursts(stretches, timeline);
  timeline.series.push_back(burst_series("on-time", "us", stretches,
                                         [&](const Burst& burst) { return stream.microseconds(burst.on); }));
  const Tick tenth = (stream.tick_hz + 9) / 10;
  timeline.series.push_back(running_series<RunningStarts>("break rate", "Hz", tenth, 10.0, stretches));
  for (const DutyLimit& duty : profile.limits.duty) timeline.series.push_back(duty_series(duty, stretches));
  if (const auto current = current_table(profile); current->knows_peak())
    timeline.series.push_back(current_series(*current, profile, stretches, view.measured));
  for (Series& series : timeline.series) attach(judgement, series);
  for (const ViolationSpan& span : judgement.spans)
    if (span.until_s >= timeline.from_s && span.from_s <= timeline.until_s) timeline.spans.push_back(span);
  return timeline;
}

}  // namespace burstloom
