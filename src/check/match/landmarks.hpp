// Places in songs that are known again whatever the clock: how the bursts of a short stretch share its
// length.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "packed_song.hpp"

namespace burstloom::align_detail {

/// Bursts of one landmark.
inline constexpr std::size_t kLandmark = 8;

/// What eight starts look like, in 30 bits: where each of the inner ones stands, in 32nds of the time from
/// the first to the last.
[[nodiscard]] std::uint32_t look_of(const double* starts_us);

struct Landmark {
  std::uint32_t look = 0, song = 0, number = 0;  ///< of its first burst
  float span_us = 0;                             ///< from the first start to the last
};

class Landmarks {
 public:
  /// One look in sixteen is kept, and all of a song's beginning; not those of a tone that goes on.
  void add(const PackedSong& song, std::uint32_t its_number);
  void sort();
  /// All that look so.
  [[nodiscard]] std::span<const Landmark> like(std::uint32_t look) const;

 private:
  std::vector<Landmark> places_;
};

}  // namespace burstloom::align_detail
