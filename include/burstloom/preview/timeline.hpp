// A stream over time as series to plot: thinned to lowest and highest where there is much, every burst and
// every corner where there is little.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// How a series runs between its points.
enum class Course {
  bursts,    ///< a value for each burst, at its start; nothing between
  steps,     ///< holds its value until the next point
  straight,  ///< straight lines from point to point
};

struct SeriesPoint {
  double at_s = 0;           ///< exact: the moment; thinned: the middle of the stretch it stands for
  double low = 0, high = 0;  ///< the least and the greatest value there; equal where the series is exact
};

/// One quantity over time, as the stream has it: no clock tolerance or pulse stretch in it, except the peak
/// current.
struct Series {
  std::string name;  ///< "on-time", "break rate", "duty 10 ms", "peak current"
  std::string unit;
  Course course = Course::bursts;
  bool exact =
      false;  ///< the points are the whole truth; else one point a stretch (none where nothing happens)
  std::vector<SeriesPoint> points;
  /// Of the judgement, under the limit's name ("on-time max" for on-time): allowed, worst, where, margin.
  std::optional<LimitResult> judged;
};

struct Timeline {
  double from_s = 0, until_s = 0;
  std::size_t columns = 1;    ///< stretches that the thinned series have
  bool every_burst = false;   ///< `bursts` holds all that touch the view; false: there are too many
  std::vector<Burst> bursts;  ///< in the stream's ticks
  std::vector<Series>
      series;  ///< on-time, break rate, the duty windows in rising order, peak current if known
  std::vector<ViolationSpan> spans;  ///< of the judgement, those that touch the view
};

struct View {
  Tick from = 0;
  Tick until = kEndOfTime;  ///< the stream's length, if that is less
  std::size_t columns =
      1000;  ///< stretches to thin to, 1 to 4096; a series of up to four times as many points is exact
  bool measured = false;  ///< as in JudgeOptions: a capture's times hold the clock's error already
};

/// - on-time (us): of each burst.
/// - break rate (Hz): at t, ten times the starts within (t - 100 ms, t].
/// - duty (%): at t, the on-time within [t - window, t) over the window (its true length; whole ticks
/// upwards).
/// - peak current (A): of each burst at the gate's worst on-time, as the judge has it; 0 where nobody knows.
/// Linear in the bursts for each series. Throws Error: bad_input for a stream out of order, usage for a view
/// that is empty or has too many columns.
[[nodiscard]] Timeline make_timeline(const BurstStream& stream, const Profile& profile,
                                     const Judgement& judgement, const View& view = {});

}  // namespace burstloom
