#include "burstloom/live/midi_reader.hpp"

namespace burstloom {
namespace {

constexpr std::uint8_t kSystem = 0xF0, kRealTime = 0xF8;

// Status included; 0 for what has no fixed length (system exclusive) or no meaning.
std::uint8_t length_of(std::uint8_t status) {
  switch (status < kSystem ? status & 0xF0 : status) {
    case 0xC0:  // program
    case 0xD0:  // channel pressure
    case 0xF1:  // quarter frame
    case 0xF3:  // song select
      return 2;
    case 0xF0:
    case 0xF4:
    case 0xF5:
    case 0xF7:
      return 0;
    case 0xF6:  // tune request
      return 1;
    default:
      return 3;
  }
}

}  // namespace

bool MidiReader::begin(std::uint8_t status, MidiMessage& whole) {
  length_ = length_of(status);
  message_ = {{status, 0, 0}, 1};
  if (length_ != 1) return false;
  whole = message_;
  length_ = 0;
  return true;
}

bool MidiReader::complete(std::uint8_t byte, MidiMessage& whole) {
  if (byte >= kRealTime) {
    whole = {{byte, 0, 0}, 1};
    return true;
  }
  if (byte >= 0x80) return begin(byte, whole);
  if (length_ == 0) return false;
  message_.bytes[message_.size++] = byte;
  if (message_.size < length_) return false;
  whole = message_;
  message_.size = 1;                              // running status
  if (message_.bytes[0] >= kSystem) length_ = 0;  // which system messages end
  return true;
}

}  // namespace burstloom
