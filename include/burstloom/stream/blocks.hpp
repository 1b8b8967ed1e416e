// Streams and captures of any length, handed on a block of bursts at a time.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "burstloom/stream/files.hpp"

namespace burstloom {

/// What is known before the first burst.
struct StreamHead {
  std::int64_t tick_hz = kDefaultTickHz;
  std::optional<CaptureSigns>
      capture;          ///< set for VCD and WAV; only sample_us, exact and starts_high are known yet
  std::string profile;  ///< of a .burst file
};

/// What is known after the last one.
struct StreamTail {
  Tick length = 0;
  std::optional<CaptureSigns> capture;
};

/// Takes a stream. Blocks come in order and are not empty; the bursts of all together keep a stream's
/// invariant.
class BurstSink {
 public:
  BurstSink() = default;
  BurstSink(const BurstSink&) = delete;
  BurstSink& operator=(const BurstSink&) = delete;
  virtual ~BurstSink() = default;
  /// Comes first; and again, with all that was taken undone, where a capture turns out to be another than it
  /// said.
  virtual void begin(const StreamHead& head) = 0;
  virtual void take(std::span<const Burst> block) = 0;
};

/// Bursts in a block that the readers hand on, at most.
inline constexpr std::size_t kBurstsInBlock = 4096;

/// Reads what `read_stream` reads, in memory that does not grow with the length (of a .burst file the bytes
/// are held, some four a burst), and from a pipe as well (but for WAV). The same errors; for what was taken
/// before one it is no use. `bytes`: so many are read at a time.
[[nodiscard]] StreamTail read_in_blocks(const std::string& path, const CaptureOptions& options,
                                        BurstSink& sink, std::size_t bytes = std::size_t{1} << 17);

/// What comes in blocks, as a whole.
class WholeStream : public BurstSink {
 public:
  void begin(const StreamHead& head) override { stream = {head.tick_hz, 0, {}}; }
  void take(std::span<const Burst> block) override {
    stream.bursts.insert(stream.bursts.end(), block.begin(), block.end());
  }
  BurstStream stream;  ///< its length comes with the tail
};

}  // namespace burstloom
