#include "burstloom/live/port_watch.hpp"

namespace burstloom {

void PortWatch::follow(double at_s, const MidiMessage& message) noexcept {
  heard_s_ = at_s;
  if (message.bytes[0] == 0xFE) senses_ = true;
  if (message.bytes[0] == kSystemReset) {
    keys_ = {};
    pedals_ = {};
  }
  const std::size_t key = message.bytes[1] & 0x7F;
  switch (message.kind()) {
    case 0x80:
      keys_[message.channel()].reset(key);
      break;
    case 0x90:
      keys_[message.channel()].set(key, message.bytes[2] != 0);
      break;
    case 0xB0:
      control(message.channel(), message.bytes[1], message.bytes[2]);
      break;
    default:
      break;
  }
}

// Reset all controllers lets pedals go (RP-015). What all-notes-off leaves to a pedal goes with the pedal.
void PortWatch::control(std::size_t channel, std::uint8_t number, std::uint8_t value) noexcept {
  for (std::size_t i = 0; i < kPedals.size(); ++i)
    if (number == kPedals[i]) pedals_[channel].set(i, value >= 64);
  if (number == kAllSoundOff || number >= kAllNotesOff) keys_[channel].reset();
  if (number == kResetControllers) pedals_[channel].reset();
}

std::size_t PortWatch::keys_down() const noexcept {
  std::size_t count = 0;
  for (const auto& keys : keys_) count += keys.count();
  return count;
}

}  // namespace burstloom
