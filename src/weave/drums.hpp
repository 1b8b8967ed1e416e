// Percussion: each stroke is a short gesture of bursts, told apart by rate, sweep, density and length.
//
// clang-format off
// | gesture    | GM sounds                  | from Hz | to Hz | for ms | gaps      | what one hears                    |
// |------------|----------------------------|---------|-------|--------|-----------|-----------------------------------|
// | kick       | 35 36                      | 220     | 50    | 90     | even      | a thump that falls                |
// | snare      | 38 40 39 (clap)            | 900     | 600   | 120    | irregular | a short burst of noise            |
// | closed hat | 42 44 54 69 70             | 1800    | 1800  | 35     | irregular | a tick of dense noise             |
// | open hat   | 46                         | 1800    | 1400  | 220    | irregular | the same, dying away              |
// | low tom    | 41 43 45 61 64 66          | 150     | 85    | 150    | even      | a falling tone                    |
// | high tom   | 47 48 50 60 62 63 65 78 79 | 270     | 160   | 130    | even      | the same, higher                  |
// | cymbal     | 49 51 52 55 57 59          | 1300    | 500   | 500    | irregular | noise that thins out              |
// | bell       | 53 56 67 68 71 72 80 81    | 1050    | 1050  | 110    | even      | a short steady tone               |
// | click      | 37 58 73 74 75 76 77       | 700     | 700   | 22     | even      | a knock                           |
// clang-format on
//
// The gestures are our own design; the sounds' numbers are the percussion key map of General MIDI 1 (35 to
// 81).
#pragma once

#include "burstloom/score/score.hpp"
#include "burstloom/weave/weave.hpp"
#include "loudness.hpp"
#include "playing.hpp"

namespace burstloom::weave_detail {

struct Gesture {
  double from_hz, to_hz, length_s;
  bool irregular;
  double level;    ///< on the stroke's own
  int importance;  ///< which plays when two strike together
};
/// Nothing where the map has no such sound.
[[nodiscard]] const Gesture* gesture_of(double key);
/// Whether a stroke gives way to one that began `since_s` ago and still sounds.
[[nodiscard]] bool gives_way(const Gesture& newcomer, const Gesture& before, double since_s);

/// The bursts of one stroke after the other. Never allocates.
class Drumming {
 public:
  /// `loudness` has to live on.
  Drumming(const Loudness& loudness, const TrainLimits& limits, const WeaveOptions& options,
           std::uint16_t voice);

  /// `gain` is the channel's at the stroke. A stroke that still sounds is cut.
  void begin(std::uint32_t note, const Gesture& gesture, double start_s, double end_s, double velocity,
             double gain);
  void end_at(Tick end) { end_ = std::min(end_, end); }
  [[nodiscard]] bool sounds() const { return next_ < end_; }
  /// While it sounds: the next burst, how long from it to the one after on the average (ticks), and on to it.
  [[nodiscard]] Tick next() const { return next_; }
  [[nodiscard]] WantedBurst burst() const { return burst_at(now_hz()); }
  [[nodiscard]] double period() const { return tick_hz_ / now_hz(); }
  WantedBurst step();

 private:
  [[nodiscard]] double gone() const;  // parts of its length
  [[nodiscard]] double now_hz() const;
  [[nodiscard]] WantedBurst burst_at(double hz) const;

  const Loudness& loudness_;
  TrainLimits limits_;
  double tick_hz_, cap_of_period_;
  std::uint16_t voice_;
  const Gesture* gesture_ = nullptr;
  std::uint32_t note_ = 0;
  double start_s_ = 0, velocity_ = 0, level_ = 0;
  std::uint64_t k_ = 0;
  Tick next_ = 0, end_ = 0, free_from_ = 0;
};

struct Drummed {
  std::vector<WantedBurst> bursts;  ///< in order of start
  std::vector<NoteFate> fates;      ///< of percussion, in order of note, then time
};

/// All percussion of the score in voice `voice`. One gesture at a time: a stroke ends the one before, but
/// gives way to one of higher standing (kick and snare, toms, cymbal, bell, click, open hat, closed hat) that
/// began less than half its length or 15 ms ago; within 15 ms of each other only one of them plays. Irregular
/// gaps are a fixed sequence for each note's index, 0.4 to 1.6 of the mean.
[[nodiscard]] Drummed drum_gestures(const Score& score, const Loudness& loudness, const TrainLimits& limits,
                                    const WeaveOptions& options, std::uint16_t voice);

}  // namespace burstloom::weave_detail
