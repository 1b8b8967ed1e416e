// What a channel's messages other than notes and pedals do: bends, tuning, vibrato, volume, as they stand
// now.
#pragma once

#include <cstdint>

#include "burstloom/score/score.hpp"

namespace burstloom {

/// One of the sixteen channels while its messages come. Numbers are those of MIDI 1.0;
/// docs/reference/arrangement.md says it for people. Never allocates.
class ChannelState {
 public:
  /// Controllers 1, 6, 7, 11, 38, 96 to 101 and 121; others are nothing to it. Whether it was one of these.
  bool controller(std::uint8_t number, std::uint8_t value);
  /// 14 bits, 8192 in the middle.
  void bend(std::uint16_t value) { bend_ = value; }
  void pressure(std::uint8_t value) { pressure_ = value; }
  void program(std::uint8_t number) { program_ = number; }

  /// Semitones: pitch bend times its range, and tuning.
  [[nodiscard]] double bend_semitones() const;
  /// Relative to what a channel has that never heard of volume; may pass 1.
  [[nodiscard]] double gain() const;
  /// Depth in semitones.
  [[nodiscard]] double vibrato_semitones() const;
  /// Held, until a program change says that the instrument is struck or plucked.
  [[nodiscard]] Envelope envelope() const;

 private:
  void select(std::uint8_t number, std::uint8_t value);
  void data(std::uint8_t number, std::uint8_t value);
  void step_data(int by);
  void reset();

  int program_ = -1;
  int bend_ = 8192;
  int volume_ = kVolumeAtStart, expression_ = 127, modulation_ = 0, pressure_ = 0;
  // The registered parameter that data entry speaks to; 0x3FFF: none, as after an unregistered one.
  int parameter_ = 0x3FFF;
  int range_semitones_ = 2, range_cents_ = 0;
  int fine_ = 8192, coarse_ = 64;

  static constexpr int kVolumeAtStart = 100;  // General MIDI, from memory
};

/// Whether the instrument of General MIDI program `number` (0 to 127) dies away by itself.
[[nodiscard]] bool is_struck_or_plucked(int number);

}  // namespace burstloom
