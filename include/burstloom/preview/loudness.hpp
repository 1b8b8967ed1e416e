// Sounds written at a stated loudness.
#pragma once

#include <optional>
#include <string>

#include "burstloom/common/files.hpp"
#include "burstloom/listen/loudness_meter.hpp"
#include "burstloom/preview/sound_sketch.hpp"

namespace burstloom {

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
/// The same as one of `files`, to be placed with the others.
SketchLevel write_sketch(SoundSketch& sketch, const LevelOptions& options, const std::string& path,
                         FilesTogether& files);

}  // namespace burstloom
