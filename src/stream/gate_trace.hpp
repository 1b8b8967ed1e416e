// A gate's level over time as a capture tells it, and how it becomes a stream.
#pragma once

#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "burstloom/stream/files.hpp"

namespace burstloom {

/// Collects a gate's level, in the file's own units of time (a sample, or a unit of the timescale).
class GateTrace {
 public:
  struct Pulse {
    std::int64_t rise = 0;
    std::int64_t fall = 0;
  };

  /// The gate has this level from `time` on; times do not decrease.
  void set(std::int64_t time, bool high);
  /// The file ends at `time`.
  void finish(std::int64_t time);

  [[nodiscard]] const std::vector<Pulse>& pulses() const { return pulses_; }
  [[nodiscard]] std::vector<Pulse> take_pulses() { return std::move(pulses_); }
  [[nodiscard]] std::int64_t end() const { return end_; }
  [[nodiscard]] bool starts_high() const { return starts_high_; }
  [[nodiscard]] bool ends_high() const { return high_; }

 private:
  std::vector<Pulse> pulses_;
  std::int64_t rise_ = 0, end_ = 0;
  bool known_ = false, high_ = false, starts_high_ = false;
};

/// What a file's units of time mean.
struct TraceScale {
  std::int64_t tick_hz = 0;         ///< of the stream it becomes
  std::int64_t units_per_tick = 1;  ///< more than one: edges are rounded outwards, bursts never get shorter
  std::int64_t short_units = 0;     ///< highs and lows of fewer units are counted as glitches
};

/// The trace as a measurement: short lows join what they part, short highs stay, both are counted.
[[nodiscard]] Capture as_capture(GateTrace trace, const TraceScale& scale);

/// What Burstloom writes into a VCD or WAV file in which every edge lies on its tick.
struct ExactMark {
  std::int64_t tick_hz = 0;
  Tick length = 0;
};

/// "Burstloom exact gate, tick_hz=N, length=T".
[[nodiscard]] std::string exact_mark(const BurstStream& stream);
/// The mark in a remark of a file; nothing when it is none or its numbers are out of range.
[[nodiscard]] std::optional<ExactMark> find_exact_mark(std::string_view remark);

/// The stream behind a marked trace: nothing unless every edge and the end lie where the mark says.
[[nodiscard]] std::optional<Capture> as_exact(const GateTrace& trace, const ExactMark& mark,
                                              std::int64_t units_per_tick);

}  // namespace burstloom
