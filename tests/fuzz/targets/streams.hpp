// Promises that all readers of streams share.
#pragma once

#include "burstloom/stream/blocks.hpp"
#include "target.hpp"

namespace burstloom::fuzz {

/// Of a stream: in order, none overlaps, each at least a tick, all before the end.
inline void require_a_stream(const BurstStream& stream) {
  Tick end = 0;
  for (const Burst& burst : stream.bursts) {
    require(burst.start >= end && burst.on >= 1, "bursts are in order and apart");
    end = burst.start + burst.on;
  }
  require(stream.length >= end, "a stream is as long as its bursts");
}

/// The same file read so many bytes at a time.
inline std::optional<BurstStream> read_by(const std::string& path, std::size_t bytes) {
  return unless_refused([&] {
    WholeStream whole;
    const StreamTail tail = read_in_blocks(path, {}, whole, bytes);
    whole.stream.length = tail.length;
    return whole.stream;
  });
}

/// Reading in blocks of any size gives one stream or one refusal; it is returned.
inline std::optional<BurstStream> read_in_any_blocks(std::span<const std::uint8_t> bytes) {
  const FileInMemory file(bytes);
  const auto at_once = read_by(file.path(), std::size_t{1} << 17), byte_by_byte = read_by(file.path(), 1);
  require(at_once.has_value() == byte_by_byte.has_value(), "blocks decide nothing");
  if (!at_once) return std::nullopt;
  require_a_stream(*at_once);
  require(at_once->bursts == byte_by_byte->bursts && at_once->length == byte_by_byte->length &&
              at_once->tick_hz == byte_by_byte->tick_hz,
          "blocks change nothing");
  return at_once;
}

}  // namespace burstloom::fuzz
