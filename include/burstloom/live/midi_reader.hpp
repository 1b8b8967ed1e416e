// Bytes off a MIDI wire into whole messages.
#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace burstloom {

/// A channel message, a system common message without data of any length, or one byte of system real time.
struct MidiMessage {
  std::array<std::uint8_t, 3> bytes{};
  std::uint8_t size = 0;

  [[nodiscard]] std::span<const std::uint8_t> span() const { return {bytes.data(), size}; }
  [[nodiscard]] std::uint8_t kind() const { return bytes[0] & 0xF0; }  ///< of a channel message
  [[nodiscard]] std::size_t channel() const { return bytes[0] & 0x0F; }
  friend bool operator==(const MidiMessage&, const MidiMessage&) = default;
};

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
