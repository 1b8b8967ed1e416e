// From a MIDI file's ticks to seconds.
#pragma once

#include <cstdint>
#include <vector>

#include "burstloom/score/midi.hpp"

namespace burstloom::midi_detail {

/// Tempo changes of a song, or the fixed frames of SMPTE time. Ticks must be asked for in rising order or by
/// `seconds_at` in any.
class TempoMap {
 public:
  /// `division` as in the header, checked by `parse_midi`.
  explicit TempoMap(std::uint16_t division);

  /// From `tick` on, a quarter note lasts `us`; ticks must not fall. SMPTE time has no tempo: ignored there.
  void set_tempo(std::uint64_t tick, std::uint32_t us);

  /// Seconds of a tick not before the last change. Exact to a rounding of the last step for songs within a
  /// day: sums of ticks times microseconds are whole numbers under 2^53.
  [[nodiscard]] double seconds_at(std::uint64_t tick) const {
    return (sum_ + static_cast<double>(tick - since_) * us_) / unit_;
  }

 private:
  double unit_;  // what `sum_` must be divided by to give seconds
  double us_;    // microseconds a quarter note; SMPTE: 1
  bool has_tempo_;
  double sum_ = 0;  // microseconds times ticks a quarter note, up to `since_`
  std::uint64_t since_ = 0;
};

}  // namespace burstloom::midi_detail
