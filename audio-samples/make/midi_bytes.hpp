// The few kinds of events that the song needs, as a Standard MIDI File 1.0 (RP-001) of format 1.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace samples {

class MidiTrackBytes {
 public:
  explicit MidiTrackBytes(const std::string& name);
  void meta(std::uint32_t tick, std::uint8_t type, const std::vector<std::uint8_t>& data);
  void note(std::uint32_t start, std::uint32_t end, std::uint8_t channel, std::uint8_t key,
            std::uint8_t velocity);
  void control(std::uint32_t tick, std::uint8_t channel, std::uint8_t controller, std::uint8_t value);
  /// The chunk, events in order of time; at the same time, in the order they were added, ends of notes first.
  [[nodiscard]] std::vector<std::uint8_t> chunk() const;

 private:
  struct Event {
    std::uint32_t tick;
    int order;  ///< among events of the same tick
    std::vector<std::uint8_t> bytes;
  };
  std::vector<Event> events_;
};

/// Throws burstloom::Error when the file cannot be written.
void write_midi(const std::string& path, std::uint16_t ticks_a_beat,
                const std::vector<MidiTrackBytes>& tracks);

}  // namespace samples
