// Bytes off a MIDI wire into whole messages.
#pragma once

#include <cstdint>
#include <span>

#include "burstloom/score/midi_message.hpp"

namespace burstloom {

/// Takes any bytes, in pieces of any size: running status is spelt out, real-time bytes may stand anywhere,
/// system exclusive messages of any length are passed over, data without a status too (MIDI 1.0 Detailed
/// Specification, "Running Status", "System Real Time Messages"; from memory). Never allocates.
class MidiReader {
 public:
  /// Calls `found(const MidiMessage&)` for each message that `bytes` complete.
  template <typename Found>
  void take(std::span<const std::uint8_t> bytes, Found&& found) {
    for (const std::uint8_t byte : bytes)
      if (MidiMessage whole; complete(byte, whole)) found(whole);
  }

 private:
  bool complete(std::uint8_t byte, MidiMessage& whole);
  bool begin(std::uint8_t status, MidiMessage& whole);

  MidiMessage message_;      ///< what has come of it
  std::uint8_t length_ = 0;  ///< of the running message, status included; 0: data is passed over
};

}  // namespace burstloom
