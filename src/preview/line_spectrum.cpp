#include "line_spectrum.hpp"

#include <algorithm>
#include <cmath>
#include <new>
#include <numbers>

#include "burstloom/common/error.hpp"

namespace burstloom {

double Bands::edge_hz(std::size_t i) const {
  return lowest_hz * std::pow(highest_hz / lowest_hz, static_cast<double>(i) / static_cast<double>(count));
}
double Bands::middle_hz(std::size_t i) const {
  return std::sqrt(edge_hz(i) * edge_hz(i + 1));
}

}  // namespace burstloom

namespace burstloom::preview_detail {
namespace {

std::vector<float> scaled_window(std::size_t size, std::span<const double> terms) {
  std::vector<float> window(size);
  const double scale = 2.0 / (static_cast<double>(size) * terms[0]);
  for (std::size_t n = 0; n < size; ++n) {
    double value = 0, sign = 1;
    for (std::size_t k = 0; k < terms.size(); ++k, sign = -sign)
      value += sign * terms[k] *
               std::cos(2 * std::numbers::pi * static_cast<double>(k * n % size) / static_cast<double>(size));
    window[n] = static_cast<float>(scale * value);
  }
  return window;
}

}  // namespace

LineSpectrum::LineSpectrum(std::size_t size, std::span<const double> window_terms)
    : window_(scaled_window(size, window_terms)),
      frame_(size),
      transform_(kiss_fftr_alloc(static_cast<int>(size), 0, nullptr, nullptr)),
      lines_(size / 2 + 1) {
  if (!transform_) throw std::bad_alloc();
}

void LineSpectrum::add(const float* samples, std::span<double> power) {
  for (std::size_t n = 0; n < frame_.size(); ++n) frame_[n] = samples[n] * window_[n];
  kiss_fftr(transform_.get(), frame_.data(), lines_.data());
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    const double r = static_cast<double>(lines_[i].r), j = static_cast<double>(lines_[i].i);
    power[i] += r * r + j * j;
  }
}

void require_bands(const Bands& bands) {
  if (!(bands.lowest_hz > 0 && bands.lowest_hz < bands.highest_hz && bands.highest_hz <= 1e6) ||
      bands.count < 1 || bands.count > 4096)
    throw Error(Fault::usage, "frequency bands that do not rise or are not 1 to 4096", "",
                "give a lowest frequency above 0 Hz, a higher highest one, and 1 to 4096 bands");
}

BandLines::BandLines(const Bands& bands, double line_hz, std::size_t lines) {
  const auto first_from = [&](double hz) {
    return std::min(static_cast<std::size_t>(std::ceil(hz / line_hz)), lines);
  };
  for (std::size_t i = 0; i < bands.count; ++i) {
    Range range{first_from(bands.edge_hz(i)), first_from(bands.edge_hz(i + 1))};
    if (range.first == range.past && bands.middle_hz(i) < line_hz * static_cast<double>(lines - 1)) {
      range.first = static_cast<std::size_t>(std::llround(bands.middle_hz(i) / line_hz));
      range.past = range.first + 1;
    }
    ranges_.push_back(range);
  }
}

double BandLines::level(std::span<const double> power, double frames, std::size_t band) const {
  double strongest = 0;
  for (std::size_t i = ranges_[band].first; i < ranges_[band].past; ++i)
    strongest = std::max(strongest, power[i]);
  return strongest > 0 && frames > 0 ? std::max(10 * std::log10(strongest / frames), kFloorDb) : kFloorDb;
}

}  // namespace burstloom::preview_detail
