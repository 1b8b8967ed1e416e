// The series of a timeline against the same quantities counted tick by tick, and against the judge.
#include "burstloom/preview/timeline.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <functional>
#include <limits>
#include <tuple>
#include <vector>

#include "../coil/sample.hpp"
#include "../stream/stream_support.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

// A tick of 1 ms: a tenth of a second is 100 ticks, and short streams can be counted through.
constexpr std::int64_t kTickHz = 1'000;

Profile profile_with_windows(const std::vector<double>& windows_ms) {
  Profile profile;
  profile.limits.on_time_max_us = 1e6;
  for (const double window : windows_ms) profile.limits.duty.push_back({window, 50});
  return profile;
}

// Even draws of any size from one seed: rapidcheck's own ranges keep small cases small, and those are never
// thinned.
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : state_(seed | 1) {}
  Tick operator()(Tick from, Tick below) {
    state_ ^= state_ << 13, state_ ^= state_ >> 7, state_ ^= state_ << 17;
    return from + static_cast<Tick>(state_ % static_cast<std::uint64_t>(below - from));
  }

 private:
  std::uint64_t state_;
};

BurstStream some_stream(Draw& draw) {
  BurstStream stream{kTickHz, 0, {}};
  for (Tick count = draw(0, 120); count > 0; --count) {
    stream.bursts.push_back({stream.length + draw(0, 40), draw(1, 30)});
    stream.length = stream.bursts.back().end();
  }
  stream.length += draw(1, 400);
  return stream;
}

Tick counted_on_time(const BurstStream& stream, Tick from, Tick until) {
  Tick sum = 0;
  for (const Burst& burst : stream.bursts)
    sum += std::max<Tick>(0, std::min(until, burst.end()) - std::max(from, burst.start));
  return sum;
}
Tick counted_starts(const BurstStream& stream, Tick after, Tick upto) {
  return std::count_if(stream.bursts.begin(), stream.bursts.end(),
                       [&](const Burst& burst) { return burst.start > after && burst.start <= upto; });
}

struct LowHigh {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  void take(double value) { low = std::min(low, value), high = std::max(high, value); }
};

const Series& named(const Timeline& timeline, const std::string& name) {
  const auto found = std::find_if(timeline.series.begin(), timeline.series.end(),
                                  [&](const Series& series) { return series.name == name; });
  EXPECT_NE(found, timeline.series.end()) << name;
  return *found;
}

// What a series says at a moment by its points and its course.
double read_off(const Series& series, double at_s) {
  const auto after = std::upper_bound(series.points.begin(), series.points.end(), at_s + 1e-9,
                                      [](double t, const SeriesPoint& point) { return t < point.at_s; });
  if (after == series.points.begin()) return -1;
  const SeriesPoint& before = *std::prev(after);
  if (after == series.points.end() || series.course == Course::steps) return before.high;
  const double part = (at_s - before.at_s) / (after->at_s - before.at_s);
  return before.high + part * (after->high - before.high);
}

RC_GTEST_PROP(Timeline, IsWhatCountingTickByTickGives, ()) {
  Draw draw(*rc::gen::arbitrary<std::uint64_t>());
  const BurstStream stream = some_stream(draw);
  const auto window_ms = static_cast<double>(draw(1, 300));
  const auto window = static_cast<Tick>(window_ms);
  View view;
  view.from = draw(0, stream.length);
  view.until = draw(view.from + 1, stream.length + 1);
  view.columns = static_cast<std::size_t>(draw(1, 40));
  const Timeline timeline = make_timeline(stream, profile_with_windows({window_ms}), {}, view);
  const auto columns = std::min(static_cast<Tick>(view.columns), view.until - view.from);
  const auto edge = [&](Tick column) { return view.from + (view.until - view.from) * column / columns; };
  const auto duty_at = [&](Tick t) {
    return 100.0 * static_cast<double>(counted_on_time(stream, t - window, t)) / window_ms;
  };
  const auto rate_at = [&](Tick t) { return 10.0 * static_cast<double>(counted_starts(stream, t - 100, t)); };

  for (const auto& [name, value, last] : {std::tuple<const char*, std::function<double(Tick)>, Tick>{
                                              timeline.series[2].name.c_str(), duty_at, 0},
                                          {"break rate", rate_at, -1}}) {
    const Series& series = named(timeline, name);
    if (series.exact) {
      for (Tick t = view.from; t < view.until; ++t)
        RC_ASSERT(std::abs(read_off(series, stream.seconds(t)) - value(t)) < 1e-6);
      continue;
    }
    RC_ASSERT(std::ssize(series.points) == columns);
    for (Tick column = 0; column < columns; ++column) {
      LowHigh counted;
      for (Tick t = edge(column); t <= edge(column + 1) + last; ++t) counted.take(value(t));
      const SeriesPoint& point = series.points[static_cast<std::size_t>(column)];
      RC_ASSERT(std::abs(point.low - counted.low) < 1e-6);
      RC_ASSERT(std::abs(point.high - counted.high) < 1e-6);
    }
  }

  const Series& on_time = named(timeline, "on-time");
  std::size_t at = 0;
  for (Tick column = 0; column < columns && !on_time.exact; ++column) {
    LowHigh counted;
    for (const Burst& burst : stream.bursts)
      if (burst.start >= edge(column) && burst.start < edge(column + 1))
        counted.take(stream.microseconds(burst.on));
    if (counted.low > counted.high) continue;
    RC_ASSERT(on_time.points[at].low == counted.low);
    RC_ASSERT(on_time.points[at].high == counted.high);
    ++at;
  }
  if (!on_time.exact) RC_ASSERT(at == on_time.points.size());
}

// The highest of each series over the whole song is the judge's own figure, which shares no code with it.
TEST(Timeline, HighestValuesAreTheJudges) {
  const Profile profile =
      parse_profile(sample_with("clock_tolerance_percent = 0.5", "clock_tolerance_percent = 0.0"), "c.toml");
  const BurstStream stream = test::scattered(3'000);
  const Judgement judgement = judge(stream, profile);
  for (const std::size_t columns : {17u, 1'000u, 4'096u}) {
    const Timeline timeline =
        make_timeline(stream, profile, judgement, {.from = 0, .until = kEndOfTime, .columns = columns});
    ASSERT_EQ(timeline.series.size(), 5u);
    for (const Series& series : timeline.series) {
      double highest = 0;
      for (const SeriesPoint& point : series.points) highest = std::max(highest, point.high);
      ASSERT_TRUE(series.judged.has_value()) << series.name;
      EXPECT_NEAR(highest, series.judged->in_stream, 1e-9 * highest) << series.name << ", " << columns;
      EXPECT_GT(highest, 0) << series.name;
    }
  }
}

// Close up, what a burst says is what the CSV has: its start and its on-time, to the tick.
TEST(Timeline, IsExactAtSingleBursts) {
  const BurstStream stream = test::scattered(200'000);
  const Profile profile = parse_profile(kSample, "c.toml");
  const Burst& burst = stream.bursts[123'456];
  const Timeline timeline = make_timeline(
      stream, profile, {}, {.from = burst.start - 40'000, .until = burst.end() + 40'000, .columns = 1'000});
  EXPECT_TRUE(timeline.every_burst);
  EXPECT_NE(std::find(timeline.bursts.begin(), timeline.bursts.end(), burst), timeline.bursts.end());
  for (const Series& series : timeline.series) EXPECT_TRUE(series.exact) << series.name;
  const Series& on_time = named(timeline, "on-time");
  const auto point = std::find_if(on_time.points.begin(), on_time.points.end(), [&](const SeriesPoint& each) {
    return each.at_s == stream.seconds(burst.start);
  });
  ASSERT_NE(point, on_time.points.end());
  EXPECT_EQ(point->high, stream.microseconds(burst.on));
  const Timeline whole = make_timeline(stream, profile, {});
  EXPECT_FALSE(whole.every_burst);
  for (const Series& series : whole.series) EXPECT_LE(series.points.size(), 1'000u) << series.name;
}

TEST(Timeline, ViolationsOfTheView) {
  const BurstStream stream = test::train(2'000'000, 4'000, 100, 1'000);
  Judgement judgement;
  for (const double at_s : {0.5, 1.0, 1.5}) judgement.spans.push_back({"gap", "us", at_s, at_s + 0.1, 10, 100, 1});
  const Timeline timeline = make_timeline(stream, parse_profile(kSample, "c.toml"), judgement,
                                          {.from = 1'600'000, .until = 2'400'000});
  ASSERT_EQ(timeline.spans.size(), 1u);
  EXPECT_EQ(timeline.spans[0].from_s, 1.0);
}

TEST(Timeline, RefusesWhatItCannotShow) {
  const Profile profile = parse_profile(kSample, "c.toml");
  const BurstStream stream = test::train(2'000'000, 4'000, 100, 10);
  const auto show = [&](const View& view) { (void)make_timeline(stream, profile, {}, view); };
  test::expect_error(Fault::usage, "0 columns", [&] { show({.from = 0, .until = 100, .columns = 0}); });
  test::expect_error(Fault::usage, "4097 columns",
                     [&] { show({.from = 0, .until = 100, .columns = 4'097}); });
  test::expect_error(Fault::usage, "nothing between", [&] { show({.from = 100, .until = 100}); });
  test::expect_error(Fault::usage, "nothing between", [&] { show({.from = 40'000}); });
  test::expect_error(Fault::usage, "nothing between", [&] { show({.from = -1, .until = 100}); });
  test::expect_error(Fault::bad_input, "burst", [&] {
    (void)make_timeline(BurstStream{1'000, 100, {{50, 10}, {20, 10}}}, profile, {});
  });
}

}  // namespace
}  // namespace burstloom
