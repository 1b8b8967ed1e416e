// Sound files that can be neither half-written nor half-read unnoticed: libsndfile itself tells neither.
#pragma once

#include <sndfile.h>

#include <cstdint>
#include <memory>
#include <string>

#include "burstloom/common/files.hpp"

namespace burstloom {

using SoundOut = std::unique_ptr<SNDFILE, decltype(&sf_close)>;

/// A sound to be written into `file`, which must outlive it. libsndfile forgets that the last write, of the
/// header, has failed; `file` does not. Throws Error (machine) when it cannot be begun; `path` is what
/// messages call it.
[[nodiscard]] SoundOut open_sound(FileInPieces& file, SF_INFO format, const std::string& path);

/// A sound file opened for reading. libsndfile takes a read that failed for the end of the sound; this one
/// tells.
class SoundIn {
 public:
  /// Nothing is thrown: `get` is null where libsndfile finds no sound in it, `info` is filled otherwise.
  SoundIn(const std::string& path, SF_INFO& info);
  ~SoundIn();
  SoundIn(const SoundIn&) = delete;
  SoundIn& operator=(const SoundIn&) = delete;

  [[nodiscard]] SNDFILE* get() const { return sound_; }
  /// Throws Error: machine when any read has failed so far, bad_input when the file's size has changed.
  void require_read() const;

 private:
  static sf_count_t size(void* self);
  static sf_count_t seek(sf_count_t offset, int from, void* self);
  static sf_count_t tell(void* self);
  static sf_count_t read(void* bytes, sf_count_t count, void* self);

  std::string path_;
  int file_;
  std::int64_t size_;  // when it was opened
  int reason_ = 0;     // errno of the first read that failed
  SNDFILE* sound_ = nullptr;
};

}  // namespace burstloom
