#include "burstloom/preview/picture.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>
#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/preview/sentence.hpp"
#include "canvas.hpp"
#include "panels.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;

constexpr double kWidth = 1600, kLeft = 230, kRight = 90, kHeader = 112, kGap = 18, kFooter = 70;
constexpr double kSeriesHeight = 120, kSpectrogramHeight = 260;

TimeAxis time_axis_of(const PictureContent& content) {
  TimeAxis time;
  time.until_s = 0;
  if (content.timeline) {
    time.from_s = content.timeline->from_s;
    time.until_s = content.timeline->until_s;
    time.columns = static_cast<double>(content.timeline->columns);
  } else {
    for (const NamedSpectrogram& each : content.spectrograms)
      time.until_s = std::max(time.until_s, each.spectrogram.length_s);
  }
  if (!(time.until_s > time.from_s)) time.until_s = time.from_s + 1;
  time.marks = time_marks(time.from_s, time.until_s, 12);
  return time;
}

double height_of(const PictureContent& content) {
  const double series = content.timeline ? static_cast<double>(content.timeline->series.size()) : 0;
  return kHeader + series * (kSeriesHeight + kGap) +
         static_cast<double>(content.spectrograms.size()) * (kSpectrogramHeight + kGap) + kFooter;
}

void draw_header(Canvas& canvas, const PictureContent& content) {
  canvas.text(16, 38, content.title, {24, Align::left, kInk, true}, kWidth - 32);
  if (!content.judgement) return;
  const bool held = content.judgement->verdict == Verdict::within_limits;
  if (!held) canvas.fill({0, 48, kWidth, 28}, kVermilion);
  canvas.text(16, 68, verdict_sentence(*content.judgement), {18, Align::left, held ? kInk : kPaper, !held},
              kWidth - 32);
  canvas.text(16, 92, not_judged_sentence(*content.judgement), {14, Align::left, kSoftInk, false},
              kWidth - 32);
}

void draw_footer(Canvas& canvas, double height) {
  canvas.text(16, height - 14,
              "A prediction is no permission: high voltage, RF burns, fire, ozone, noise and implants "
              "remain. Local codes "
              "and licensed practice come first.",
              {13, Align::left, kSoftInk, false}, kWidth - 32);
}

}  // namespace

PictureKind picture_kind(const std::string& path) {
  std::string ending = std::filesystem::path(path).extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (ending == ".png") return PictureKind::png;
  if (ending == ".svg") return PictureKind::svg;
  throw Error(Fault::usage, "no picture can be written under the ending '" + printable(ending) + "'",
              printable(path, 200), "let the name end in .png or .svg");
}

std::string picture(const PictureContent& content, PictureKind kind) {
  if (!content.timeline && content.spectrograms.empty())
    throw Error(Fault::usage, "a picture of nothing", "", "give it a timeline or a spectrogram");
  const double height = height_of(content);
  Canvas canvas(kind, static_cast<int>(kWidth), static_cast<int>(height));
  const TimeAxis time = time_axis_of(content);
  draw_header(canvas, content);
  Box box{kLeft, kHeader, kWidth - kLeft - kRight, kSeriesHeight};
  Box last = box;
  const auto advance = [&] {
    last = box;
    box.y += box.height + kGap;
  };
  if (content.timeline)
    for (const Series& series : content.timeline->series) {
      draw_series(canvas, box, time, series, content.timeline->spans);
      advance();
    }
  box.height = kSpectrogramHeight;
  for (const NamedSpectrogram& named : content.spectrograms) {
    draw_spectrogram(canvas, box, time, named);
    advance();
  }
  draw_time_axis(canvas, last, time);
  draw_footer(canvas, height);
  return canvas.finish();
}

}  // namespace burstloom
