// A sound file decoded block by block, and all that may be wrong with it.
#pragma once

#include <sndfile.h>

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "burstloom/common/sound_files.hpp"

namespace burstloom {

/// What of a frame's channels is heard.
enum class Fold { mean, first_channel };

/// Throws Error (bad_input) for what is no sound file, has a rate outside 8 to 192 kHz or is longer than six
/// hours.
class Decoder {
 public:
  explicit Decoder(const std::string& path);

  [[nodiscard]] int rate_hz() const { return info_.samplerate; }
  /// Frames that the header promises; -1 where it does not say.
  [[nodiscard]] std::int64_t promised() const;
  [[nodiscard]] std::int64_t read() const { return read_; }
  /// The file's own, else its name.
  [[nodiscard]] std::string title() const;
  /// The next samples; none at the end or where the damage begins. Valid until the next call.
  std::span<const float> next(Fold fold);

  // Of what was read so far:
  /// Channels of opposite phase are silent in their mean, though they are loud in any room.
  [[nodiscard]] bool cancels() const {
    return info_.channels > 1 && oddities_.mean_energy < 0.1 * oddities_.first_energy;
  }
  /// Why nothing more can be read, as a clause; empty: the end is the file's.
  [[nodiscard]] std::string damage() const;
  [[nodiscard]] std::vector<std::string> remarks() const;

 private:
  struct Oddities {
    std::int64_t replaced = 0;
    float peak = 0;
    double first_energy = 0, mean_energy = 0;
  };
  sf_count_t read_interleaved();
  void look_over(std::span<float> samples);
  void fold_down(std::span<const float> interleaved, Fold fold);

  std::string path_;
  SF_INFO info_{};
  std::unique_ptr<SoundIn> file_;
  std::vector<float> interleaved_, mono_;
  std::int64_t read_ = 0;
  bool ended_ = false;
  Oddities oddities_;
};

}  // namespace burstloom
