// The panels that a picture is stacked of. All share one time axis.
#pragma once

#include <vector>

#include "axis.hpp"
#include "canvas.hpp"

namespace burstloom::preview_detail {

struct TimeAxis {
  double from_s = 0, until_s = 1;
  double columns = 1;  ///< stretches that thinned series have
  TimeMarks marks;

  [[nodiscard]] double x(const Box& box, double at_s) const {
    return box.x + box.width * (at_s - from_s) / (until_s - from_s);
  }
};

void draw_series(Canvas& canvas, const Box& box, const TimeAxis& time, const Series& series,
                 const std::vector<ViolationSpan>& spans);
void draw_spectrogram(Canvas& canvas, const Box& box, const TimeAxis& time, const NamedSpectrogram& named);
/// The time's marks and unit under `box`.
void draw_time_axis(Canvas& canvas, const Box& box, const TimeAxis& time);
/// A panel's name, and a second line under it, in the margin left of `box`.
void draw_name(Canvas& canvas, const Box& box, const std::string& name, const std::string& below);

}  // namespace burstloom::preview_detail
