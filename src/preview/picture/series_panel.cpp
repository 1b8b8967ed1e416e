#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "panels.hpp"

namespace burstloom::preview_detail {
namespace {

const Style kSmall{13, Align::left, kSoftInk, false};
Style aligned(Style style, Align align) {
  style.align = align;
  return style;
}

struct Scale {
  double top = 1;
  bool limit_shown = false;

  explicit Scale(const Series& series) {
    double highest = 0;
    for (const SeriesPoint& point : series.points) highest = std::max(highest, point.high);
    const double allowed = series.judged ? series.judged->allowed : 0;
    // A limit far above all there is would press the course flat; it is named instead.
    limit_shown = allowed > 0 && (highest == 0 || allowed < 4 * highest);
    top = 1.25 * std::max({highest, limit_shown ? allowed : 0.0, 1e-9});
  }
  [[nodiscard]] double y(const Box& box, double value) const {
    return box.bottom() - box.height * std::clamp(value / top, 0.0, 1.0);
  }
};

void draw_grid(Canvas& canvas, const Box& box, const TimeAxis& time, const Scale& scale) {
  for (const Mark& mark : time.marks.marks) {
    const double x = time.x(box, mark.value);
    canvas.line(x, box.y, x, box.bottom(), kGrid);
  }
  for (const Mark& mark : round_marks(0, scale.top, 3)) {
    const double y = scale.y(box, mark.value);
    canvas.line(box.x, y, box.right(), y, kGrid);
    canvas.text(box.x - 8, y + 5, mark.label, aligned(kSmall, Align::right));
  }
}

// One value a burst: a stem with a head.
void draw_stems(Canvas& canvas, const Box& box, const TimeAxis& time, const Scale& scale,
                const Series& series) {
  std::vector<Box> marks;
  for (const SeriesPoint& point : series.points) {
    const double x = time.x(box, point.at_s), y = scale.y(box, point.high);
    marks.push_back({x - 0.6, y, 1.2, box.bottom() - y});
    marks.push_back({x - 2.5, y - 2.5, 5, 5});
  }
  canvas.fill_all(marks, kBlue);
}

// The span from lowest to highest, over a shade that reaches down to zero.
void draw_spans(Canvas& canvas, const Box& box, const TimeAxis& time, const Scale& scale,
                const Series& series) {
  const double column = box.width / time.columns + 0.2;
  std::vector<Box> shades, spans;
  for (const SeriesPoint& point : series.points) {
    const double x = time.x(box, point.at_s), low = scale.y(box, point.low), high = scale.y(box, point.high);
    shades.push_back({x - column / 2, low, column, box.bottom() - low});
    spans.push_back({x - column / 2, high - 0.8, column, low - high + 1.6});
  }
  canvas.fill_all(shades, kPaleBlue);
  canvas.fill_all(spans, kBlue);
}

void draw_exact(Canvas& canvas, const Box& box, const TimeAxis& time, const Scale& scale,
                const Series& series) {
  std::vector<std::pair<double, double>> curve;
  for (const SeriesPoint& point : series.points) {
    const double x = time.x(box, point.at_s), y = scale.y(box, point.high);
    if (series.course == Course::steps && !curve.empty()) curve.emplace_back(x, curve.back().second);
    curve.emplace_back(x, y);
  }
  canvas.curve(curve, kBlue, 1.6);
}

void draw_limit(Canvas& canvas, const Box& box, const Scale& scale, const Series& series) {
  if (!series.judged) return;
  const LimitResult& limit = *series.judged;
  const std::string unit = shown_unit(limit.unit);
  const Style label{13, Align::right, kVermilion, true};
  if (!scale.limit_shown) {
    canvas.text(box.right() - 6, box.y + 16,
                "limit " + figure(limit.allowed) + " " + unit + ", above this scale", label);
    return;
  }
  const double y = scale.y(box, limit.allowed);
  canvas.line(box.x, y, box.right(), y, kVermilion, 1.6, true);
  canvas.text(box.right() - 6, y - 5, "limit " + figure(limit.allowed) + " " + unit, label);
}

// A bar as long as the limit is exceeded, and a triangle under it where it begins.
void draw_exceeded(Canvas& canvas, const Box& box, const TimeAxis& time, const Series& series,
                   const std::vector<ViolationSpan>& spans) {
  if (!series.judged) return;
  double last = -100;
  for (const ViolationSpan& span : spans) {
    const double x = time.x(box, span.from_s), end = time.x(box, span.until_s);
    if (span.limit != series.judged->limit) continue;
    canvas.fill({x - 1, box.y, end - x + 2, 4}, kVermilion);
    if (x - last < 4) continue;
    canvas.pointer(x, box.y + 12, 11, kVermilion);
    last = x;
  }
}

std::string worst_of(const Series& series) {
  if (!series.judged) return {};
  return "song's worst " + figure(series.judged->worst) + " " + shown_unit(series.unit);
}

std::string margin_of(const LimitResult& limit) {
  if (limit.unsure && !limit.held) return "cannot tell";
  return (limit.held ? "margin " : "exceeded by ") + in_tenths(std::abs(limit.margin_percent)) + " %";
}

}  // namespace

void draw_name(Canvas& canvas, const Box& box, const std::string& name, const std::string& below) {
  canvas.text(16, box.y + 18, name, {15, Align::left, kInk, true}, box.x - 70);
  canvas.text(16, box.y + 38, below, kSmall, box.x - 70);
}

void draw_series(Canvas& canvas, const Box& box, const TimeAxis& time, const Series& series,
                 const std::vector<ViolationSpan>& spans) {
  const Scale scale(series);
  draw_name(canvas, box, series.name + ", " + shown_unit(series.unit), worst_of(series));
  if (series.judged) canvas.text(16, box.y + 56, margin_of(*series.judged), kSmall, box.x - 70);
  draw_grid(canvas, box, time, scale);
  canvas.clip(box);
  if (!series.exact)
    draw_spans(canvas, box, time, scale, series);
  else if (series.course == Course::bursts)
    draw_stems(canvas, box, time, scale, series);
  else
    draw_exact(canvas, box, time, scale, series);
  draw_limit(canvas, box, scale, series);
  draw_exceeded(canvas, box, time, series, spans);
  canvas.unclip();
  canvas.frame(box, kSoftInk);
}

void draw_time_axis(Canvas& canvas, const Box& box, const TimeAxis& time) {
  for (const Mark& mark : time.marks.marks) {
    const double x = time.x(box, mark.value);
    canvas.line(x, box.bottom(), x, box.bottom() + 6, kSoftInk);
    canvas.text(x, box.bottom() + 22, mark.label, aligned(kSmall, Align::centre));
  }
  canvas.text(box.x - 50, box.bottom() + 22, "time, " + time.marks.unit, {13, Align::right, kInk, true});
}

}  // namespace burstloom::preview_detail
