#include "burstloom/score/channel_state.hpp"

#include <algorithm>
#include <iterator>

#include "burstloom/score/midi_message.hpp"

namespace burstloom {
namespace {

// Numbers of controllers: MIDI 1.0 detailed specification, table of controllers.
constexpr std::uint8_t kModulation = 1, kDataEntry = 6, kVolume = 7, kExpression = 11, kDataEntryFine = 38,
                       kDataUp = 96, kDataDown = 97, kUnregisteredFine = 98, kUnregistered = 99,
                       kRegisteredFine = 100, kRegistered = 101;
// Registered parameters: pitch bend sensitivity, channel fine tuning, channel coarse tuning.
constexpr int kBendRange = 0, kFineTuning = 1, kCoarseTuning = 2, kNone = 0x3FFF;

// At full modulation: GM2's default range of modulation depth, from memory.
constexpr double kDeepestVibrato = 0.5;

}  // namespace

bool ChannelState::controller(std::uint8_t number, std::uint8_t value) {
  switch (number) {
    case kModulation:
      modulation_ = value;
      break;
    case kVolume:
      volume_ = value;
      break;
    case kExpression:
      expression_ = value;
      break;
    case kDataEntry:
    case kDataEntryFine:
      data(number, value);
      break;
    case kDataUp:
      step_data(+1);
      break;
    case kDataDown:
      step_data(-1);
      break;
    case kRegistered:
    case kRegisteredFine:
      select(number, value);
      break;
    case kUnregistered:
    case kUnregisteredFine:
      parameter_ = kNone;
      break;
    case kResetControllers:
      reset();
      break;
    default:
      return false;
  }
  return true;
}

void ChannelState::select(std::uint8_t number, std::uint8_t value) {
  const int old = parameter_;
  parameter_ = number == kRegistered ? value << 7 | (old & 0x7F) : (old & 0x3F80) | value;
}

void ChannelState::data(std::uint8_t number, std::uint8_t value) {
  const bool coarse = number == kDataEntry;
  if (parameter_ == kBendRange) (coarse ? range_semitones_ : range_cents_) = value;
  if (parameter_ == kFineTuning) fine_ = coarse ? value << 7 | (fine_ & 0x7F) : (fine_ & 0x3F80) | value;
  if (parameter_ == kCoarseTuning && coarse) coarse_ = value;
}

// One step of data increment or decrement is one of the parameter's own: a cent, the finest, a semitone
// (RP-018, from memory).
void ChannelState::step_data(int by) {
  if (parameter_ == kBendRange) {
    const int cents = std::clamp(100 * range_semitones_ + range_cents_ + by, 0, 127 * 100 + 127);
    range_semitones_ = std::min(127, cents / 100);
    range_cents_ = cents - 100 * range_semitones_;
  }
  if (parameter_ == kFineTuning) fine_ = std::clamp(fine_ + by, 0, 0x3FFF);
  if (parameter_ == kCoarseTuning) coarse_ = std::clamp(coarse_ + by, 0, 127);
}

// RP-015: volume, program, tuning and bend range stay as they are.
void ChannelState::reset() {
  expression_ = 127;
  modulation_ = pressure_ = 0;
  bend_ = 8192;
  parameter_ = kNone;
}

double ChannelState::bend_semitones() const {
  const double range = range_semitones_ + range_cents_ / 100.0;
  const double tuning = (coarse_ - 64) + (fine_ - 8192) / 8192.0;
  return (bend_ - 8192) / 8192.0 * range + tuning;
}

double ChannelState::gain() const {
  return volume_ / static_cast<double>(kVolumeAtStart) * (expression_ / 127.0);
}

double ChannelState::vibrato_semitones() const {
  return kDeepestVibrato * std::max(modulation_, pressure_) / 127.0;
}

Envelope ChannelState::envelope() const {
  return program_ >= 0 && is_struck_or_plucked(program_) ? Envelope::plucked : Envelope::held;
}

// Families of General MIDI: pianos, chromatic percussion; guitars and basses; pizzicato, harp, timpani;
// orchestra hit; sitar to kalimba; percussive.
bool is_struck_or_plucked(int number) {
  constexpr struct {
    int first, last;
  } kDying[] = {{0, 15}, {24, 39}, {45, 47}, {55, 55}, {104, 108}, {112, 119}};
  return std::any_of(std::begin(kDying), std::end(kDying),
                     [&](const auto& range) { return number >= range.first && number <= range.last; });
}

}  // namespace burstloom
