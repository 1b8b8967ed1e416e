#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/preview/spectrum.hpp"
#include "line_spectrum.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;

constexpr double kFrameS = 4096.0 / 48'000.0;
using Read = std::function<std::size_t(std::span<float>)>;

// How the samples are shared out: frames stand `hop` apart, `frames_a_column` of them make a column.
struct Grid {
  std::size_t size = 0, columns = 0, frames_a_column = 1, hop = 1;

  Grid(int rate_hz, std::size_t samples, std::size_t most_columns) {
    size = static_cast<std::size_t>(
        kiss_fftr_next_fast_size_real(static_cast<int>(std::max(16.0, std::round(kFrameS * rate_hz)))));
    columns = std::clamp<std::size_t>(samples / (size / 16) + 1, 1, most_columns);
    const std::size_t width = std::max<std::size_t>((samples + columns - 1) / columns, 1);
    frames_a_column = (width + size / 2 - 1) / (size / 2);
    hop = (width + frames_a_column - 1) / frames_a_column;
    columns = std::max<std::size_t>((samples + hop * frames_a_column - 1) / (hop * frames_a_column), 1);
  }
};

// A frame that moves along the samples; what lies before their start and past their end is 0.
class MovingFrame {
 public:
  MovingFrame(Read read, std::size_t size) : read_(std::move(read)), samples_(size, 0.0f) { fill(size / 2); }

  void move(std::size_t hop) {
    const auto kept =
        std::move(samples_.begin() + static_cast<std::ptrdiff_t>(hop), samples_.end(), samples_.begin());
    fill(static_cast<std::size_t>(kept - samples_.begin()));
  }
  [[nodiscard]] const float* samples() const { return samples_.data(); }

 private:
  void fill(std::size_t from) {
    const auto rest = std::span(samples_).subspan(from);
    const std::size_t count = read_(rest);
    std::fill(rest.begin() + static_cast<std::ptrdiff_t>(count), rest.end(), 0.0f);
  }
  Read read_;
  std::vector<float> samples_;
};

Spectrogram spectrogram_of(const Read& read, int rate_hz, std::size_t samples,
                           const SpectrogramOptions& options) {
  require_bands(options.bands);
  if (options.most_columns < 1 || options.most_columns > 16'384)
    throw Error(Fault::usage, "a spectrogram of " + std::to_string(options.most_columns) + " columns", "",
                "give 1 to 16384 columns");
  if (rate_hz < 1'000 || rate_hz > 1'000'000)
    throw bad_input("a sound of " + std::to_string(rate_hz) + " samples a second", "",
                    "give one of 1 kHz to 1 MHz");
  const Grid grid(rate_hz, samples, options.most_columns);
  LineSpectrum lines(grid.size, kHann);
  const BandLines bands(options.bands, static_cast<double>(rate_hz) / static_cast<double>(grid.size),
                        grid.size / 2 + 1);
  Spectrogram result{options.bands,
                     static_cast<double>(grid.columns * grid.frames_a_column * grid.hop) / rate_hz,
                     grid.columns, std::vector<float>(grid.columns * options.bands.count)};
  MovingFrame frame(read, grid.size);
  std::vector<double> power(grid.size / 2 + 1);
  for (std::size_t column = 0; column < grid.columns; ++column) {
    std::fill(power.begin(), power.end(), 0.0);
    for (std::size_t i = 0; i < grid.frames_a_column; ++i, frame.move(grid.hop))
      lines.add(frame.samples(), power);
    bands.strongest(power, static_cast<double>(grid.frames_a_column),
                    std::span(result.db).subspan(column * options.bands.count, options.bands.count));
  }
  return result;
}

}  // namespace

Spectrogram spectrogram(const Sound& sound, const SpectrogramOptions& options) {
  std::size_t at = 0;
  const Read read = [&](std::span<float> block) {
    const std::size_t count = std::min(block.size(), sound.samples.size() - at);
    std::copy_n(sound.samples.begin() + static_cast<std::ptrdiff_t>(at), count, block.begin());
    at += count;
    return count;
  };
  return spectrogram_of(read, sound.rate_hz, sound.samples.size(), options);
}

Spectrogram spectrogram(SoundSketch& sketch, double gain, const SpectrogramOptions& options) {
  sketch.rewind();
  const Read read = [&](std::span<float> block) {
    const std::size_t count = sketch.read(block);
    for (float& sample : block.first(count)) sample = static_cast<float>(gain * static_cast<double>(sample));
    return count;
  };
  Spectrogram result =
      spectrogram_of(read, sketch.rate_hz(), static_cast<std::size_t>(sketch.samples()), options);
  sketch.rewind();
  return result;
}

}  // namespace burstloom
