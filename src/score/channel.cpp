#include "channel.hpp"

namespace burstloom::midi_detail {
namespace {

void add_step(StepCurve& curve, double at_s, double value, double before) {
  if (!curve.empty() && curve.back().at_s >= at_s) curve.pop_back();
  if ((curve.empty() ? before : curve.back().value) != value) curve.push_back({at_s, value});
}

}  // namespace

void Channel::controller(double at_s, std::uint8_t number, std::uint8_t value) {
  if (state_.controller(number, value)) note_change(at_s);
}

void Channel::bend(double at_s, std::uint16_t value) {
  state_.bend(value);
  note_change(at_s);
}

void Channel::pressure(double at_s, std::uint8_t value) {
  state_.pressure(value);
  note_change(at_s);
}

void Channel::program(std::uint8_t number) {
  state_.program(number);
  if (curves_.program < 0) curves_.program = number;
}

void Channel::note_change(double at_s) {
  add_step(curves_.bend, at_s, state_.bend_semitones(), 0);
  add_step(curves_.gain, at_s, state_.gain(), 1);
  add_step(curves_.vibrato, at_s, state_.vibrato_semitones(), 0);
}

}  // namespace burstloom::midi_detail
