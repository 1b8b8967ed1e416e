// Sound files in blocks, and recordings as they are listened to: without silent ends, and loud enough.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/listen/sound_source.hpp"

namespace burstloom {

/// Told now and then how much is done, 0 to 1.
using TellShare = std::function<void(double share)>;

struct SoundScan;

/// A sound that was gone through once: what it is called, how loud it is, where it is silent.
class ScannedSound : public SoundSource {
 public:
  [[nodiscard]] int rate_hz() const override { return rate_hz_; }
  [[nodiscard]] const SoundFigures& figures() const override { return figures_; }

  [[nodiscard]] const std::string& title() const { return title_; }
  [[nodiscard]] const std::vector<std::string>& remarks() const { return remarks_; }
  /// Integrated, ITU-R BS.1770; nothing where no 400 ms are above -70 LUFS.
  [[nodiscard]] std::optional<double> loudness_lufs() const { return loudness_lufs_; }
  /// The first sample of the first 10 ms over -60 dBFS, and the one past the last such 10 ms. All of the
  /// sound where there are none.
  [[nodiscard]] std::int64_t first_sound() const { return first_sound_; }
  [[nodiscard]] std::int64_t past_sound() const { return past_sound_; }

 protected:
  void take(const SoundScan& scan, int rate_hz);
  std::string title_;
  std::vector<std::string> remarks_;

 private:
  int rate_hz_ = 0;
  SoundFigures figures_;
  std::optional<double> loudness_lufs_;
  std::int64_t first_sound_ = 0, past_sound_ = 0;
};

/// WAV, AIFF, FLAC, OGG/Vorbis, Opus or MP3 through libsndfile, 8 to 192 kHz: the mean of the channels, or
/// the first where they cancel one another; what is no number is 0. The file is gone through once when it is
/// opened. Up to 16 million samples (six minutes at 44.1 kHz) are held then; a longer sound is decoded again
/// by each reader.
class SoundFile : public ScannedSound {
 public:
  /// Throws Error (bad_input) for what is no sound file, has no samples, or is longer than six hours. A
  /// cut-off or damaged file is read as far as it goes, and remarked on.
  explicit SoundFile(const std::string& path, const TellShare& tell = {});
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override;

 private:
  std::string path_;
  bool first_channel_only_ = false;
  std::vector<float> held_;  // none: too many
};

/// Samples that were decoded elsewhere, for a place without files or decoders. Heard as their file would be.
class DecodedSound : public ScannedSound {
 public:
  /// Throws Error (bad_input) for no samples, for more than six hours, and for a rate outside 8 to 192 kHz.
  explicit DecodedSound(Sound sound);
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override;

 private:
  std::vector<float> samples_;
};

/// A recording as it is listened to. Silence is left out but for 0.1 s before the first sound and 0.5 s after
/// the last; what is softer than EBU R 128's -23 LUFS is brought up to it, by at most 40 dB. Louder ones
/// stay: what is heard is in proportion to the loudest.
class Recording : public SoundSource {
 public:
  /// With `keep_silence` time is the sound's own.
  explicit Recording(std::unique_ptr<const ScannedSound> sound, bool keep_silence = false);
  /// Of a SoundFile. Throws what that throws.
  explicit Recording(const std::string& path, bool keep_silence = false, const TellShare& tell = {});

  [[nodiscard]] int rate_hz() const override { return sound_->rate_hz(); }
  /// Offset and levels are those of the whole sound.
  [[nodiscard]] const SoundFigures& figures() const override { return figures_; }
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override;

  /// As it was recorded.
  [[nodiscard]] const ScannedSound& original() const { return *sound_; }
  /// The original's, and what was done to it.
  [[nodiscard]] const std::vector<std::string>& remarks() const { return remarks_; }
  [[nodiscard]] double left_out_before_s() const { return seconds(first_); }
  [[nodiscard]] double left_out_after_s() const {
    return seconds(sound_->figures().samples - first_ - figures_.samples);
  }

 private:
  void leave_out_silence();
  [[nodiscard]] double seconds(std::int64_t samples) const {
    return static_cast<double>(samples) / rate_hz();
  }

  std::unique_ptr<const ScannedSound> sound_;
  std::int64_t first_ = 0;
  SoundFigures figures_;
  std::vector<std::string> remarks_;
};

/// A recording softer than EBU R 128's -23 LUFS, brought up to it, by at most 40 dB: for what has gates at
/// fixed levels. A louder one stays as it is.
class Raised : public SoundSource {
 public:
  /// `recording` must outlive this.
  explicit Raised(const Recording& recording);
  [[nodiscard]] int rate_hz() const override { return recording_.rate_hz(); }
  [[nodiscard]] const SoundFigures& figures() const override { return figures_; }
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override;
  /// 0 where it stays as it is.
  [[nodiscard]] double raised_db() const { return raised_db_; }

 private:
  const Recording& recording_;
  double raised_db_ = 0, gain_ = 1;
  SoundFigures figures_;
};

/// A recording's samples in memory, for what needs them all at once.
[[nodiscard]] Sound held(const Recording& recording);

}  // namespace burstloom
