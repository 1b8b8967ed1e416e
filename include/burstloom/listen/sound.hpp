// Sound files as mono samples, in blocks.
#pragma once

#include <string>
#include <vector>

namespace burstloom {

/// A whole song as one channel: the mean of its channels, samples about -1 to 1, not a number replaced by 0.
struct Sound {
  int rate_hz = 0;
  std::vector<float> samples;
  std::string title;
  std::vector<std::string> remarks;

  [[nodiscard]] double length_s() const {
    return rate_hz > 0 ? static_cast<double>(samples.size()) / rate_hz : 0.0;
  }
};

/// Reads WAV, AIFF, FLAC, OGG/Vorbis, Opus and MP3 through libsndfile, 8 to 192 kHz. A cut-off or damaged
/// file is read as far as it goes, and remarked on. Throws Error: bad_input for what is no sound file, has no
/// samples, or is longer than six hours; machine when memory runs out.
[[nodiscard]] Sound read_sound(const std::string& path);

/// Whether the file's first bytes look like a sound file's (RIFF with WAVE, FORM with AIFF, fLaC, OggS,
/// ID3, an MPEG frame). False for what cannot be opened or is no regular file.
[[nodiscard]] bool looks_like_sound(const std::string& path);

}  // namespace burstloom
