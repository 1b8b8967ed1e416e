// Any stretch of a sound that comes in blocks.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "burstloom/listen/sound_source.hpp"

namespace burstloom {

/// Made for going forward: what lies further back than it keeps is read again from the start, which is right
/// but slow.
///
///          kept_first_                 read so far
///   . . . . . |=====================|. . . . . . . . . .
///   read again      in memory          next blocks
class SoundWindow {
 public:
  using Open = std::function<std::unique_ptr<SoundReader>()>;
  /// Keeps at least `keep` samples behind the furthest that was asked for; as many as the longest stretch that
  /// was, where that is more.
  SoundWindow(Open open, std::size_t keep) : open_(std::move(open)), keep_(keep) {}

  /// `count` samples from `first` on; those outside of the sound, and no numbers, are 0. Valid until the next
  /// call.
  std::span<const float> at(std::ptrdiff_t first, std::size_t count);

 private:
  void read_to(std::int64_t past);
  [[nodiscard]] std::int64_t read_past() const {
    return kept_first_ + static_cast<std::int64_t>(kept_.size());
  }

  Open open_;
  std::size_t keep_;
  std::unique_ptr<SoundReader> reader_;
  std::vector<float> kept_, padded_;
  std::int64_t kept_first_ = 0;
};

}  // namespace burstloom
