// What of a set a capture holds: which songs were played, when, how true to their streams.
//
// Songs are found by landmarks: where eight bursts stand within the time from the first to the last of them,
// which no clock changes. What a landmark suggests is tried on the bursts that follow, and what holds is
// followed burst by burst with a clock that is fitted on the way. Memory does not grow with the capture; of
// the songs some five bytes a burst are held.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

/// A song, or a part of it, as it was played.
struct Playing {
  std::size_t song = 0;           ///< its number in the set, from 0
  double start_s = 0, end_s = 0;  ///< in the capture: its first burst's start, its last burst's end
  double song_from_s = 0, song_until_s = 0;  ///< the same burst's start and end in the song's own stream
  bool from_start = true,
       to_end = true;              ///< give or take `kMissingAtEnds` bursts, which are counted as missing
  bool repeated = false;           ///< it had been played before, in whole or in part
  bool out_of_order = false;       ///< a later song of the set had been played before
  std::int64_t bursts = 0;         ///< found where they belong
  std::int64_t missing = 0;        ///< of the part that was played
  std::int64_t extra = 0;          ///< in the midst of it, but not of the song
  std::int64_t wrong_on_time = 0;  ///< of those found: by more than `Alignment::on_time_within_us`
  double clock_ppm =
      0;  ///< by how much the capture's time runs faster than the song's; positive: played too slowly
  double jitter_us = 0;                   ///< rms distance of starts from the straight line of that clock
  double earliest_us = 0, latest_us = 0;  ///< the largest distances from it: <= 0, >= 0
};

/// Bursts that belong to no song, parted by less than a second and by no song.
struct UnknownStretch {
  double from_s = 0, until_s = 0;
  std::int64_t bursts = 0;
};

struct Alignment {
  std::vector<Playing> playings;                           ///< in order of time
  std::vector<std::size_t> not_played;                     ///< numbers of songs
  std::vector<UnknownStretch> unknown;                     ///< the first `kUnknownListed`
  std::int64_t unknown_stretches = 0, unknown_bursts = 0;  ///< in all
  double on_time_within_us = 0;
};

inline constexpr std::int64_t kMissingAtEnds = 24;
inline constexpr std::size_t kUnknownListed = 1000;
/// How much faster or slower than the capture a player's clock may run.
inline constexpr double kClockWithin = 0.01;

class Aligner {
 public:
  /// `tolerance_us` >= 0: how well the capture's edges are known.
  explicit Aligner(double tolerance_us);
  Aligner(Aligner&&) noexcept;
  ~Aligner();

  /// The set's songs in their order, all before the first burst; each needs eight bursts to be found.
  void add_song(const BurstStream& song);
  /// The capture begins (again).
  void begin(std::int64_t tick_hz);
  void take(std::span<const Burst> block);
  [[nodiscard]] Alignment finish();

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace burstloom
