// Plain building blocks for the sounds of this folder: deterministic, no library beyond <cmath>.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace samples {

inline constexpr int kRate = 22050;  ///< Hz: keeps the files small and holds all that a coil can play
using Sound = std::vector<double>;

[[nodiscard]] double hertz(double key);  ///< of a MIDI key, A4 = 69 = 440 Hz
[[nodiscard]] std::size_t at_sample(double seconds);

/// The same noise on every machine, evenly spread from -1 to 1 (Numerical Recipes' "quick and dirty"
/// generator).
class Noise {
 public:
  double next() {
    state_ = state_ * 1664525U + 1013904223U;
    return static_cast<double>(state_ >> 8) / 8388608.0 - 1.0;
  }

 private:
  std::uint32_t state_ = 20;
};

/// Rises from 0 to 1 over `attack` seconds, falls to 0 over the last `release` seconds of `length`.
[[nodiscard]] double swell(double t, double length, double attack, double release);

/// Writes 16-bit mono FLAC with its highest peak at `peak` of full scale. Throws burstloom::Error.
void write_flac(const std::string& path, const Sound& sound, double peak);

[[nodiscard]] Sound ferry_call();      ///< a sung-like single line
[[nodiscard]] Sound harbour_chords();  ///< three-voice chords, plucked and held

}  // namespace samples
