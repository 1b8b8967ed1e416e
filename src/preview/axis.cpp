#include "axis.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace burstloom::preview_detail {
namespace {

double round_step(double rough) {
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double times : {1.0, 2.0, 5.0})
    if (times * power >= rough * 0.999) return times * power;
  return 10 * power;
}

std::string with_decimals(double value, double step) {
  const int decimals = std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 9);
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string minutes(double seconds) {
  const long long whole = std::llround(seconds);
  char text[64];
  std::snprintf(text, sizeof text, "%lld:%02lld", whole / 60, whole % 60);
  return text;
}

template <class Label>
std::vector<Mark> marks_at(double low, double high, double step, Label label) {
  std::vector<Mark> marks;
  for (double n = std::ceil(low / step - 1e-6); n * step <= high + step * 1e-6 && marks.size() < 100; ++n)
    marks.push_back({n * step, label(std::abs(n) < 0.5 ? 0.0 : n * step)});  // no "-0"
  return marks;
}

}  // namespace

std::vector<Mark> round_marks(double low, double high, int wanted) {
  if (!(high > low)) return {};
  const double step = round_step((high - low) / wanted);
  return marks_at(low, high, step, [=](double value) { return with_decimals(value, step); });
}

TimeMarks time_marks(double from_s, double until_s, int wanted) {
  const double rough = (until_s - from_s) / wanted;
  if (rough <= 5) return {"s", round_marks(from_s, until_s, wanted)};
  double step = 3600;
  for (const double each : {1800.0, 900.0, 600.0, 300.0, 120.0, 60.0, 30.0, 20.0, 10.0})
    if (each >= rough) step = each;
  return {"min:s", marks_at(from_s, until_s, step, minutes)};
}

std::vector<Mark> frequency_marks(double lowest_hz, double highest_hz) {
  std::vector<Mark> marks;
  for (double power = 1; power <= highest_hz; power *= 10)
    for (const double times : {1.0, 2.0, 5.0}) {
      const double hz = times * power;
      if (hz < lowest_hz || hz > highest_hz) continue;
      marks.push_back({hz, hz >= 1000 ? figure(hz / 1000) + " kHz" : figure(hz) + " Hz"});
    }
  return marks;
}

}  // namespace burstloom::preview_detail
