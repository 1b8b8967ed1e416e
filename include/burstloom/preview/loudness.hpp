// Loudness by ITU-R BS.1770-4 and EBU Tech 3341, and sounds written at a stated loudness.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "burstloom/preview/sound_sketch.hpp"

namespace burstloom {

/// Measures as samples come in: K-weighted, gated loudness (LUFS) and true peak (dBTP, four times oversampled
/// below 96 kHz). One channel counts as one loudspeaker: a mono file that plays on two is 3 LU louder than it
/// reads.
class LoudnessMeter {
 public:
  /// 1 to 5 channels (five: L, R, C, Ls, Rs), 8 to 192 kHz; else throws Error (usage). The true peak takes
  /// twice as long as all else: without it none is told.
  LoudnessMeter(int channels, int rate_hz, bool with_true_peak = true);
  LoudnessMeter(LoudnessMeter&&) noexcept;
  LoudnessMeter& operator=(LoudnessMeter&&) noexcept;
  ~LoudnessMeter();

  /// Whole frames, channels side by side; a rest of a frame is an Error (usage).
  void add(std::span<const float> interleaved);

  /// Of everything so far, gated; nothing when no block of 400 ms was above -70 LUFS.
  [[nodiscard]] std::optional<double> integrated_lufs() const;
  /// Of the last 3 s and the last 400 ms; nothing for silence.
  [[nodiscard]] std::optional<double> short_term_lufs() const;
  [[nodiscard]] std::optional<double> momentary_lufs() const;
  /// The highest of all channels; nothing for silence, or when it was not asked for.
  [[nodiscard]] std::optional<double> true_peak_dbtp() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

struct LevelOptions {
  double loudness_lufs = -23.0;  ///< -70 to 0; EBU R 128's programme loudness by default
  double true_peak_dbtp = -1.0;  ///< never passed, -30 to 0
  /// false: the highest sample stands in for the true peak, which may be higher; for sounds that a lossy
  /// encoder changes anyway
  bool measure_true_peak = true;
};

/// How a sketch was brought to its level. One gain for the whole song: nothing is compressed or cut.
struct SketchLevel {
  double gain = 1.0;                     ///< from the sketch's samples to the file's
  std::optional<double> loudness_lufs;   ///< of the file; nothing when too short or too sparse to have one
  std::optional<double> true_peak_dbtp;  ///< of the file; nothing for silence, or when not measured
  bool held_by_peak = false;             ///< the peak, not the loudness, set the gain: quieter than asked
};

/// Measures the whole sketch (and rewinds it). A sketch without a loudness is brought to the peak; silence is
/// left.
[[nodiscard]] SketchLevel level_for(SoundSketch& sketch, const LevelOptions& options = {});

/// Writes the sketch as mono 24-bit WAV or FLAC, by the ending of `path`, whole or not at all. Throws Error:
/// usage for another ending, levels out of range, or a WAV of more than 4 GiB; machine when it cannot be
/// written.
SketchLevel write_sketch(SoundSketch& sketch, const LevelOptions& options, const std::string& path);

}  // namespace burstloom
