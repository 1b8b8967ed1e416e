// A song's bursts in few bytes, readable from anywhere.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/burst.hpp"

namespace burstloom::align_detail {

/// A burst in microseconds.
struct TimedBurst {
  double start_us = 0, on_us = 0;
  [[nodiscard]] double end_us() const { return start_us + on_us; }
};

class PackedSong {
 public:
  explicit PackedSong(const BurstStream& song);

  [[nodiscard]] std::size_t size() const { return size_; }
  /// The number of the first burst that starts at `time_us` or later; `size()` where there is none.
  [[nodiscard]] std::size_t first_from(double time_us) const;
  /// The shortest time from start to start; large where there are fewer than two bursts.
  [[nodiscard]] double shortest_period_us() const { return shortest_period_us_; }

  /// Reads on from some burst.
  class Reader {
   public:
    Reader(const PackedSong& song, std::size_t number);
    [[nodiscard]] bool over() const { return number_ >= song_->size_; }
    [[nodiscard]] std::size_t number() const { return number_; }
    /// Not when it is over.
    [[nodiscard]] const TimedBurst& burst() const { return burst_; }
    void next();

   private:
    void decode();
    const PackedSong* song_;
    std::size_t number_, at_;
    Tick end_;
    TimedBurst burst_;
  };

 private:
  struct Mark {
    std::size_t at = 0;  // byte
    Tick end = 0;        // of the burst before
  };
  Bytes bytes_;  // gap and on-time of each in LEB128
  std::vector<Mark> marks_;
  std::size_t size_;
  double us_per_tick_, shortest_period_us_ = 1e300;
};

}  // namespace burstloom::align_detail
