// One song being played: tells which of the capture's bursts are its own.
#pragma once

#include <optional>

#include "burstloom/check/align.hpp"
#include "line_fit.hpp"
#include "packed_song.hpp"

namespace burstloom::align_detail {

/// Where a moment of the song lies in the capture.
struct Clock {
  double song_us = 0, capture_us = 0;
  double ratio = 1;    ///< capture's time over song's
  double span_us = 1;  ///< of the song, over which the ratio was measured
  [[nodiscard]] double at(double time_us) const { return capture_us + ratio * (time_us - song_us); }
  [[nodiscard]] double song_time_us(double in_capture_us) const {
    return song_us + (in_capture_us - capture_us) / ratio;
  }
  /// How far off it may be there.
  [[nodiscard]] double unsure_us(double time_us) const;
};

class Follower {
 public:
  /// Expects the song's bursts from `number` on.
  Follower(const PackedSong& song, std::size_t number, const Clock& clock, double tolerance_us);

  enum class Says { found, not_of_it, lost, over };
  /// A burst of the capture: it and those since the last one found are accounted for; or it is not the
  /// song's, or not surely; or the song is not to be seen any more (what came since the last one found is not
  /// its own); or it had ended before this burst.
  Says take(const TimedBurst& burst);
  /// At the end: counts the last bursts, too, that were not sure by themselves; false where there are none.
  bool settle();

  /// Goes on further ahead, after it was lost; what lies between is missing.
  void go_on(std::size_t number, const Clock& clock);

  [[nodiscard]] const Clock& clock() const { return clock_; }
  [[nodiscard]] std::int64_t found() const { return found_; }
  [[nodiscard]] std::int64_t not_found() const { return missing_ + missing_since_ + extra_ + extra_since_; }
  [[nodiscard]] std::size_t last_number() const { return last_number_; }
  /// All but the song's number and what other playings say of it. Not before a burst was found.
  [[nodiscard]] Playing playing() const;

 private:
  struct Found {
    TimedBurst own, burst;
    std::size_t number = 0;
  };
  Says miss();
  Says find(const TimedBurst& burst, double late_us);
  void count(const Found& found);
  void move_clock(const TimedBurst& own, double expected_us, double late_us);

  const PackedSong* song_;
  PackedSong::Reader next_;
  Clock clock_;
  double within_us_, on_time_within_us_;
  Clock newer_, older_;  // where the clock stood a second ago or two, for its ratio
  LineFit fit_;
  TimedBurst first_own_, first_, last_own_, last_;  // in the song, in the capture
  std::size_t first_number_ = 0, last_number_ = 0;
  bool searching_ = true;  // until a burst is found for sure nothing can be lost
  // A burst that stands alone among misses may stand there by chance: it is counted when the next one is
  // found, too.
  std::vector<Found> unsure_;
  int in_a_row_ = 0;
  std::int64_t found_ = 0, missing_ = 0, extra_ = 0, wrong_on_time_ = 0;
  std::int64_t missing_since_ = 0, extra_since_ = 0;  // since the last one found
};

/// By how much a start may be off from where the clock expects it, the clock's own uncertainty apart (us).
[[nodiscard]] double start_within_us(double tolerance_us);
/// By how much an on-time may be off (us).
[[nodiscard]] double on_time_within_us(double tolerance_us);

}  // namespace burstloom::align_detail
