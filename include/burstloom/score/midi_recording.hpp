// MIDI messages as they came in, kept as a Standard MIDI File to the fiftieth of a millisecond.
#pragma once

#include <cstdint>
#include <span>
#include <string>

#include "burstloom/common/files.hpp"

namespace burstloom {

/// Messages count in steps of this: 25 000 ticks a quarter note at 120 quarter notes a minute.
inline constexpr double kMidiRecordingStep_s = 20e-6;

class MidiRecording {
 public:
  /// `step` is a whole number of steps since the beginning; earlier than the message before: at its moment.
  /// Only channel messages with all their bytes are kept.
  void add(std::int64_t step, std::span<const std::uint8_t> message);
  /// Format 0; the track ends at `length`, in steps, or with the last message.
  [[nodiscard]] Bytes file(const std::string& title, std::int64_t length) const;

 private:
  Bytes events_;
  std::int64_t now_ = 0;
};

}  // namespace burstloom
