// A MIDI message, and what the numbers in it mean to more than one room.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
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

inline constexpr int kMidiChannels = 16, kMidiKeys = 128, kPercussionChannel = 9;

/// Controllers that hold and end notes (MIDI 1.0); the mode messages 124 to 127 mean all notes off as well.
inline constexpr std::uint8_t kSustain = 64, kSostenuto = 66, kAllSoundOff = 120, kResetControllers = 121,
                              kAllNotesOff = 123;
/// System reset.
inline constexpr std::uint8_t kSystemReset = 0xFF;

/// A whole channel message with sound data bytes.
[[nodiscard]] inline bool is_channel_message(std::span<const std::uint8_t> message) {
  if (message.empty() || message[0] < 0x80 || message[0] >= 0xF0) return false;
  const bool has_one_data_byte = (message[0] & 0xE0) == 0xC0;  // program, channel pressure
  return message.size() == (has_one_data_byte ? 2u : 3u) &&
         std::all_of(message.begin() + 1, message.end(), [](std::uint8_t byte) { return byte < 0x80; });
}

}  // namespace burstloom
