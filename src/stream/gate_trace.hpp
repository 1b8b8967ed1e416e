// A gate's level over time as a capture tells it, and how it becomes bursts.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "burstloom/stream/blocks.hpp"

namespace burstloom {

/// Gathers bursts to blocks. The head goes out with the first of them.
class BlockOut {
 public:
  BlockOut(StreamHead head, BurstSink& sink) : head_(std::move(head)), sink_(sink) {}
  [[nodiscard]] StreamHead& head() { return head_; }
  void take(Burst burst) {
    block_.push_back(burst);
    if (block_.size() == kBurstsInBlock) flush();
  }
  /// Hands on what has gathered; after the last burst, too, so that there is a head at least.
  void flush();

 private:
  StreamHead head_;
  BurstSink& sink_;
  std::vector<Burst> block_;
  bool begun_ = false;
};

/// What a file's units of time mean.
struct TraceScale {
  std::int64_t tick_hz = 0;           ///< of the stream it becomes
  std::int64_t units_per_tick = 1;    ///< more than one: edges are rounded outwards, bursts never get shorter
  std::int64_t short_units = 0;       ///< highs and lows of fewer units are counted as glitches
  std::optional<Tick> marked_length;  ///< an exact stream of that length: no glitches, every edge on its tick
};

/// Thrown where a trace is not the exact stream that its mark promised; it must be read again as a
/// measurement.
struct NotAsMarked {};

/// Makes bursts of a gate's level, in the file's own units of time (a sample, or a unit of the timescale). Of
/// a measurement short lows join what they part and short highs stay; both are counted.
class GateTrace {
 public:
  GateTrace(const TraceScale& scale, BurstSink& sink);

  /// The gate has this level from `time` on; times do not decrease. Throws NotAsMarked.
  void set(std::int64_t time, bool high) {
    if (known_ && high == high_) return;
    change(time, high);
  }
  /// The file ends at `time`. Throws NotAsMarked.
  [[nodiscard]] StreamTail finish(std::int64_t time);

 private:
  struct Pulse {
    std::int64_t rise = 0, fall = 0;
  };
  void change(std::int64_t time, bool high);
  void take(Pulse pulse);
  void hand_on();
  [[nodiscard]] bool is_exact() const { return scale_.marked_length.has_value(); }

  TraceScale scale_;
  BlockOut out_;
  CaptureSigns signs_;
  std::optional<Pulse> pulse_;  // the last one, which a short low may join to the next
  Tick end_ = 0;                // of the last burst handed on
  std::int64_t rise_ = 0;
  bool known_ = false, high_ = false;
};

/// What Burstloom writes into a VCD or WAV file in which every edge lies on its tick.
struct ExactMark {
  std::int64_t tick_hz = 0;
  Tick length = 0;
};

/// "Burstloom exact gate, tick_hz=N, length=T".
[[nodiscard]] std::string exact_mark(const BurstStream& stream);
/// The mark in a remark of a file; nothing when it is none or its numbers are out of range.
[[nodiscard]] std::optional<ExactMark> find_exact_mark(std::string_view remark);

/// The whole capture that `read` makes: called with whether to trust the mark, and again without trust where
/// that was not justified.
template <class Read>
Capture whole_capture(Read read) {
  WholeStream whole;
  const auto with = [&](bool trust) {
    Capture capture;
    const StreamTail tail = read(whole, trust);
    static_cast<CaptureSigns&>(capture) = *tail.capture;
    capture.stream = std::move(whole.stream);
    capture.stream.length = tail.length;
    return capture;
  };
  try {
    return with(true);
  } catch (const NotAsMarked&) {
    return with(false);
  }
}

}  // namespace burstloom
