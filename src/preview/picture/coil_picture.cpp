#include "burstloom/preview/coil_picture.hpp"

#include <algorithm>
#include <cmath>

#include "axis.hpp"
#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/outlook.hpp"
#include "burstloom/coil/waveform.hpp"
#include "burstloom/common/error.hpp"
#include "canvas.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;
using Curve = std::vector<std::pair<double, double>>;

constexpr double kWidth = 1400, kHeight = 880;

// Two linear axes over a box; y may stand for logarithms of x.
struct Plot {
  Box box;
  double low_x, high_x, low_y, high_y;
  [[nodiscard]] double x(double value) const {
    return box.x + box.width * (value - low_x) / (high_x - low_x);
  }
  [[nodiscard]] double y(double value) const {
    return box.bottom() - box.height * (value - low_y) / (high_y - low_y);
  }
  [[nodiscard]] Curve placed(const Curve& values) const {
    Curve points;
    for (const auto& [at, value] : values) points.emplace_back(x(at), y(value));
    return points;
  }
};

void draw_axes(Canvas& canvas, const Plot& plot, const std::vector<Mark>& marks_x, const std::string& name_x,
               const std::string& name_y) {
  for (const Mark& mark : marks_x) {
    canvas.line(plot.x(mark.value), plot.box.y, plot.x(mark.value), plot.box.bottom(), kGrid);
    canvas.text(plot.x(mark.value), plot.box.bottom() + 20, mark.label, {14, Align::centre, kSoftInk});
  }
  for (const Mark& mark : round_marks(plot.low_y, plot.high_y, 6)) {
    canvas.line(plot.box.x, plot.y(mark.value), plot.box.right(), plot.y(mark.value), kGrid);
    canvas.text(plot.box.x - 10, plot.y(mark.value) + 5, mark.label, {14, Align::right, kSoftInk});
  }
  canvas.frame(plot.box, kSoftInk);
  canvas.text(plot.box.right(), plot.box.bottom() + 44, name_x, {15, Align::right, kInk, true});
  canvas.text(plot.box.x, plot.box.y - 12, name_y, {15, Align::left, kInk, true});
}

Curve current_of(const Profile& profile, bool loaded, double on_us, double until_us) {
  const CircuitAnswer answer = circuit_of(profile, loaded);
  if (!answer.known)
    throw bad_input("the current cannot be drawn (" + answer.why_not + ")", printable(profile.name),
                    "give what is missing in the profile");
  const GateBurst burst{0, on_us};
  const double volts =
      bridge_v(profile.drive.bridge, *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100));
  Curve curve;
  for (const WaveformRow& row : simulate(answer.circuit, volts, {&burst, 1}, until_us, until_us / 4000).rows)
    curve.emplace_back(row.time_us, row.primary_a);
  return curve;
}

double highest_of(const Curve& curve) {
  double highest = 0;
  for (const auto& [at, value] : curve) highest = std::max(highest, std::abs(value));
  return highest;
}

void draw_current(Canvas& canvas, const Profile& profile) {
  const double on_us = command_limits(profile).on_time_max_us, until_us = on_us * 1.6;
  const Curve unloaded = current_of(profile, false, on_us, until_us),
              loaded = current_of(profile, true, on_us, until_us);
  const double top =
      1.12 * std::max({highest_of(unloaded), highest_of(loaded), profile.limits.peak_current_a.value_or(0)});
  const Plot plot{{110, 110, kWidth - 160, 300}, 0, until_us, -top, top};
  draw_axes(canvas, plot, round_marks(0, until_us, 10), "time, \u00b5s",
            "primary current of a burst of " + figure(on_us) + " \u00b5s, A");
  canvas.curve(plot.placed(unloaded), kVermilion, 1.2);
  canvas.curve(plot.placed(loaded), kBlue, 2);
  if (const auto& limit = profile.limits.peak_current_a)
    for (const double side : {-1.0, 1.0})
      canvas.line(plot.box.x, plot.y(side * *limit), plot.box.right(), plot.y(side * *limit), kInk, 1.5,
                  true);
  canvas.text(plot.box.right(), plot.box.y - 12, "thick: streamers    thin: no streamers    dashed: limit",
              {14, Align::right, kSoftInk});
}

void draw_steady(Canvas& canvas, const Profile& profile) {
  std::vector<double> rates;
  for (double hz = 20; hz <= 4000; hz *= 1.12) rates.push_back(hz);
  Curve curve;
  double top = 1;
  for (const SteadyNote& note : steady_notes(profile, rates)) {
    curve.emplace_back(std::log10(note.rate_hz), note.on_time_us);
    top = std::max(top, note.on_time_us);
  }
  const Plot plot{{110, 500, kWidth - 160, 260}, std::log10(20.0), std::log10(4000.0), 0, 1.12 * top};
  std::vector<Mark> marks;
  for (const Mark& mark : frequency_marks(20, 4000)) marks.push_back({std::log10(mark.value), mark.label});
  draw_axes(canvas, plot, marks, "break rate", "longest on-time of a note that never ends, \u00b5s");
  canvas.curve(plot.placed(curve), kBlue, 2.5);
}

}  // namespace

std::string coil_picture(const Profile& profile, PictureKind kind) {
  Canvas canvas(kind, static_cast<int>(kWidth), static_cast<int>(kHeight));
  canvas.fill({0, 0, kWidth, kHeight}, kPaper);
  canvas.text(16, 40, profile.name, {24, Align::left, kInk, true}, kWidth - 32);
  draw_current(canvas, profile);
  draw_steady(canvas, profile);
  canvas.text(16, kHeight - 16,
              "Computed, at the highest bus. A prediction is no permission: compare with the bench, follow "
              "local codes and licensed practice.",
              {13, Align::left, kSoftInk}, kWidth - 32);
  return canvas.finish();
}

}  // namespace burstloom
