// One windowed transform of real samples, scaled so that a sine's line shows its amplitude.
#pragma once

#include <kissfft/kiss_fftr.h>

#include <memory>
#include <span>
#include <vector>

#include "burstloom/preview/spectrum.hpp"

namespace burstloom::preview_detail {

/// Cosine-sum windows (Harris, "On the use of windows", Proc. IEEE 66(1), 1978), with signs: w = a0 - a1 cos
/// + ...
inline constexpr double kHann[] = {0.5, 0.5};
/// 5-term flat top: no line is shown lower than by 0.01 dB.
inline constexpr double kFlatTop[] = {0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368};

class LineSpectrum {
 public:
  LineSpectrum(std::size_t size, std::span<const double> window_terms);

  [[nodiscard]] std::size_t size() const { return window_.size(); }
  /// Adds the square of each line's peak amplitude to `power`, size() / 2 + 1 lines.
  void add(const float* samples, std::span<double> power);

 private:
  struct Free {
    void operator()(kiss_fftr_state* state) const { kiss_fftr_free(state); }
  };
  std::vector<float> window_, frame_;  // the window is scaled by 2 / (size times its coherent gain)
  std::unique_ptr<kiss_fftr_state, Free> transform_;
  std::vector<kiss_fft_cpx> lines_;
};

/// Throws Error (usage) unless the bands rise, lie above 0 Hz and are 1 to 4096.
void require_bands(const Bands& bands);

/// Which lines fall into which band; a band narrower than the lines' distance takes the nearest one.
class BandLines {
 public:
  BandLines(const Bands& bands, double line_hz, std::size_t lines);
  /// The strongest line of each band, `power` divided by `frames`, in dB.
  template <class Value>
  void strongest(std::span<const double> power, double frames, std::span<Value> db) const {
    for (std::size_t band = 0; band < db.size(); ++band)
      db[band] = static_cast<Value>(level(power, frames, band));
  }

 private:
  [[nodiscard]] double level(std::span<const double> power, double frames, std::size_t band) const;
  struct Range {
    std::size_t first, past;  // empty where there is no such line
  };
  std::vector<Range> ranges_;
};

}  // namespace burstloom::preview_detail
