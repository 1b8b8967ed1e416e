// Sounds in memory. Whole songs are better gone through in blocks: sound_source.hpp, sound_file.hpp.
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

/// All of a `SoundFile`, as it was recorded. Throws what that throws, and Error (machine) when memory runs
/// out.
[[nodiscard]] Sound read_sound(const std::string& path);

/// Whether the file's first bytes look like a sound file's (RIFF with WAVE, FORM with AIFF, fLaC, OggS,
/// ID3, an MPEG frame). False for what cannot be opened or is no regular file.
[[nodiscard]] bool looks_like_sound(const std::string& path);

}  // namespace burstloom
