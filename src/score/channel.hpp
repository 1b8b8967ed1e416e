// What a channel's messages other than notes and pedals do: bends, tuning, vibrato, volume.
#pragma once

#include <cstdint>

#include "burstloom/score/score.hpp"

namespace burstloom::midi_detail {

/// One of the sixteen channels while a file is played through. Numbers are those of MIDI 1.0;
/// docs/arrangement.md says it for people.
class Channel {
 public:
  Channel();

  /// Controllers 1, 6, 7, 11, 38, 96 to 101 and 121; others are nothing to it.
  void controller(double at_s, std::uint8_t number, std::uint8_t value);
  /// 14 bits, 8192 in the middle.
  void bend(double at_s, std::uint16_t value);
  void pressure(double at_s, std::uint8_t value);
  void program(std::uint8_t number);

  /// Held, until a program change says that the instrument is struck or plucked.
  [[nodiscard]] Envelope envelope() const;
  /// All so far. Gain is relative to what a channel has that never heard of volume, and may pass 1.
  [[nodiscard]] const ChannelCurves& curves() const { return curves_; }

 private:
  void select(std::uint8_t number, std::uint8_t value);
  void data(std::uint8_t number, std::uint8_t value);
  void step_data(int by);
  void reset();
  void note_change(double at_s);

  ChannelCurves curves_;
  int program_ = -1;
  int bend_ = 8192;
  int volume_, expression_ = 127, modulation_ = 0, pressure_ = 0;
  // The registered parameter that data entry speaks to; 0x3FFF: none, as after an unregistered one.
  int parameter_ = 0x3FFF;
  int range_semitones_ = 2, range_cents_ = 0;
  int fine_ = 8192, coarse_ = 64;
};

/// Whether the instrument of General MIDI program `number` (0 to 127) dies away by itself.
[[nodiscard]] bool is_struck_or_plucked(int number);

}  // namespace burstloom::midi_detail
