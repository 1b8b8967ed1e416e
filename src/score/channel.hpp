// A channel's state over the time of a file.
#pragma once

#include "burstloom/score/channel_state.hpp"

namespace burstloom::midi_detail {

/// A channel while a file is played through: what it says is kept as curves.
class Channel {
 public:
  void controller(double at_s, std::uint8_t number, std::uint8_t value);
  void bend(double at_s, std::uint16_t value);
  void pressure(double at_s, std::uint8_t value);
  void program(std::uint8_t number);

  [[nodiscard]] Envelope envelope() const { return state_.envelope(); }
  /// All so far. Gain is relative to what a channel has that never heard of volume, and may pass 1.
  [[nodiscard]] const ChannelCurves& curves() const { return curves_; }

 private:
  void note_change(double at_s);

  ChannelState state_;
  ChannelCurves curves_;
};

}  // namespace burstloom::midi_detail
