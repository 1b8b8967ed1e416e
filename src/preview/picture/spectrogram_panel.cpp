#include <algorithm>
#include <array>
#include <cmath>

#include "panels.hpp"

namespace burstloom::preview_detail {
namespace {

constexpr double kShownDb = 80;

// Cividis at five of its points: lightness rises evenly and reads the same with and without red-green vision
// (Nunez, Anderton and Renslow, PLoS ONE 13(7), 2018; values from memory).
Colour colour_of(double part) {
  constexpr std::array<Colour, 5> kStops{{{0.000, 0.126, 0.302},
                                          {0.255, 0.302, 0.420},
                                          {0.486, 0.482, 0.471},
                                          {0.737, 0.686, 0.435},
                                          {1.000, 0.918, 0.275}}};
  const double place = std::clamp(part, 0.0, 1.0) * (kStops.size() - 1);
  const auto low = std::min(static_cast<std::size_t>(place), kStops.size() - 2);
  const double share = place - static_cast<double>(low);
  const Colour &a = kStops[low], &b = kStops[low + 1];
  return {a.r + share * (b.r - a.r), a.g + share * (b.g - a.g), a.b + share * (b.b - a.b)};
}

// The loudest cell, up to the next ten.
double top_db(const Spectrogram& spectrogram) {
  const float loudest = spectrogram.db.empty()
                            ? static_cast<float>(kFloorDb)
                            : *std::max_element(spectrogram.db.begin(), spectrogram.db.end());
  return std::max(10 * std::ceil(static_cast<double>(loudest) / 10), kFloorDb + kShownDb);
}

void draw_cells(Canvas& canvas, const Box& box, const Spectrogram& spectrogram, double top) {
  std::vector<Colour> cells;
  cells.reserve(spectrogram.db.size());
  for (std::size_t row = spectrogram.bands.count; row-- > 0;)
    for (std::size_t column = 0; column < spectrogram.columns; ++column)
      cells.push_back(colour_of(1 - (top - static_cast<double>(spectrogram.at(column, row))) / kShownDb));
  canvas.image(box, static_cast<int>(spectrogram.columns), static_cast<int>(spectrogram.bands.count), cells);
}

void draw_colour_bar(Canvas& canvas, const Box& box, double top) {
  const int steps = static_cast<int>(box.height);
  for (int i = 0; i < steps; ++i)
    canvas.fill({box.x, box.y + i, box.width, 1.5}, colour_of(1 - static_cast<double>(i) / steps));
  canvas.frame(box, kSoftInk);
  for (int i = 0; i <= 4; ++i) {
    const double y = box.y + box.height * i / 4;
    canvas.text(box.right() + 6, std::clamp(y + 5, box.y + 12, box.bottom()),
                figure(top - kShownDb * i / 4) + (i == 0 ? " dB" : ""), {13, Align::left, kSoftInk, false});
  }
}

}  // namespace

void draw_spectrogram(Canvas& canvas, const Box& box, const TimeAxis& time, const NamedSpectrogram& named) {
  const Spectrogram& shown = named.spectrogram;
  const double top = top_db(shown);
  draw_name(canvas, box, named.name, "spectrogram");
  canvas.clip(box);
  canvas.fill(box, colour_of(0));
  const double left = time.x(box, 0), right = time.x(box, shown.length_s);
  draw_cells(canvas, {left, box.y, right - left, box.height}, shown, top);
  canvas.unclip();
  canvas.frame(box, kSoftInk);
  for (const Mark& mark : frequency_marks(shown.bands.lowest_hz, shown.bands.highest_hz)) {
    const double y = box.bottom() - box.height * std::log(mark.value / shown.bands.lowest_hz) /
                                        std::log(shown.bands.highest_hz / shown.bands.lowest_hz);
    canvas.line(box.x - 6, y, box.x, y, kSoftInk);
    canvas.text(box.x - 9, y + 5, mark.label, {13, Align::right, kSoftInk, false});
  }
  draw_colour_bar(canvas, {box.right() + 10, box.y, 16, box.height}, top);
}

}  // namespace burstloom::preview_detail
