// Where the player's clock stands, from what its statuses say: each was true when it was composed, and came
// late by a time that nobody knows (buffers of USB adapters, a busy computer).
//
// None can come before it was sent, so the least delayed ones lie on a line, song time over time of arrival,
// that no other passes. Of the lines above all points of a window the one is taken that comes closest to them
// on the whole: it is an edge of their upper hull, the one over the window's middle (Moon, Skelly and
// Towsley, Estimation and Removal of Clock Skew from Network Delay Measurements, IEEE INFOCOM 1999).
#pragma once

#include <cstdint>
#include <deque>
#include <optional>

#include "burstloom/stream/burst.hpp"

namespace burstloom {

class PlayerClock {
 public:
  /// Clocks drift apart by 2 % at most.
  explicit PlayerClock(std::int64_t tick_hz);

  /// A status that arrived at `now_s`, never earlier than before, and said this song time, modulo 2^32.
  void hear(double now_s, std::uint32_t song_time);
  /// The song time has been set to zero anew, at most half a turn of 2^32 ticks ago. The rate is kept.
  void restart();
  /// The player's song time, never less than told before; nothing before the first status. With drift up to 1
  /// % and delays of 0 to 20 ms from three seconds on at most 2.5 ms late and 0.5 ms early, from two on 4 and
  /// 1.5 ms; before, while no rate is known, up to 8 ms late and 6 ms early (measured:
  /// tests/link/player_clock_test.cpp). What all statuses are delayed by stays hidden: it is that much later.
  [[nodiscard]] std::optional<Tick> now(double now_s);

 private:
  struct Point {
    double at_s = 0, song_s = 0;
  };
  void keep(const Point& point);
  [[nodiscard]] std::optional<double> rate_over_middle() const;
  void fit();

  double tick_hz_;
  std::deque<Point> points_;              ///< the least delayed one of each tenth of a second
  double rate_ = 1, song_at_zero_s_ = 0;  ///< song time = song_at_zero_s_ + rate_ * time
  bool knows_rate_ = false;
  int strange_ = 0;  ///< statuses in a row that are far from what they should be
  std::optional<Tick> told_;
};

}  // namespace burstloom
