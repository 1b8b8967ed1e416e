// Spectra of a gate, of the sound sketch and of a source sound. Amplitudes are peak amplitudes: a sine of
// amplitude A shows 20 log10(A) dB, a gate's levels are 0 and 1.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "burstloom/listen/sound.hpp"
#include "burstloom/preview/sound_sketch.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// The least that is shown; silence has it.
inline constexpr double kFloorDb = -140.0;

/// Frequency bands of equal ratio: band i reaches from edge i to edge i + 1.
struct Bands {
  double lowest_hz = 30.0, highest_hz = 16'000.0;
  std::size_t count = 256;  ///< 1 to 4096
  [[nodiscard]] double edge_hz(std::size_t i) const;
  [[nodiscard]] double middle_hz(std::size_t i) const;
};

/// The strongest line in each band, in dB.
struct Spectrum {
  Bands bands;
  std::vector<double> db;
};
/// The gate's spectrum, its power averaged over the whole stream: exact band-limited samples at 48 kHz (the
/// low-pass and limits of SoundSketch), flat-top window of 32 768 samples (lines at least 15 Hz apart stand
/// alone, each within 0.02 dB). A stream shorter than that window is taken as once in silence.
[[nodiscard]] Spectrum gate_spectrum(const BurstStream& stream, const Bands& bands = {});

struct SpectrogramOptions {
  Bands bands;
  std::size_t most_columns = 1200;  ///< 1 to 16 384
};

/// Level over time and frequency, thinned for display: each cell is the strongest line of its band, its power
/// averaged over its column's time.
struct Spectrogram {
  Bands bands;
  double length_s = 0;
  std::size_t columns = 0;
  std::vector<float> db;  ///< column by column, bands upwards

  [[nodiscard]] float at(std::size_t column, std::size_t band) const {
    return db[column * bands.count + band];
  }
};

/// Hann window of about 85 ms, overlapping by half or more: a steady sine shows its amplitude, up to 1.42 dB
/// less between two of the transform's lines (Harris 1978, table 1). Bands above half the sample rate show
/// the floor. Memory does not grow with the sound. Throws Error (usage) for bands or columns out of range.
[[nodiscard]] Spectrogram spectrogram(const Sound& sound, const SpectrogramOptions& options = {});
/// Of the sketch's samples times `gain` (as `SketchLevel` has it); rewinds the sketch before and after.
[[nodiscard]] Spectrogram spectrogram(SoundSketch& sketch, double gain,
                                      const SpectrogramOptions& options = {});

}  // namespace burstloom
