// Keys of sixteen channels: which sound, which are held by a pedal.
//
// A key of a channel is silent, down, or held by a pedal after it was let go; a second note-on of a key that
// sounds ends the first. The sostenuto pedal holds the keys that were down when it was pressed, the sustain
// pedal all. Percussion has keys as any other channel.
#pragma once

#include <bitset>
#include <cstddef>
#include <cstdint>

#include "burstloom/score/midi_message.hpp"

namespace burstloom {

/// Tells `Listener` what begins and what ends: `begin(channel, key, velocity)` and `end(channel, key)`.
/// Channels 0 to 15, keys 0 to 127, velocities 1 to 127. Never allocates.
template <class Listener>
class Keys {
 public:
  explicit Keys(Listener& listener) : listener_(listener) {}

  void note_on(int channel, std::uint8_t key, std::uint8_t velocity) {
    if (velocity == 0) return note_off(channel, key);
    end(channel, key);
    sounds_.set(place(channel, key));
    listener_.begin(channel, key, velocity);
  }

  void note_off(int channel, std::uint8_t key) {
    if (sustain_.test(static_cast<std::size_t>(channel)) || caught_.test(place(channel, key)))
      let_go_.set(place(channel, key));
    else
      end(channel, key);
  }

  /// The controllers that hold and end notes (MIDI 1.0): sustain and sostenuto pedal, all sound off, reset
  /// all controllers, all notes off; the mode messages 124 to 127 mean all notes off as well.
  void controller(int channel, std::uint8_t number, std::uint8_t value) {
    if (number == kSustain) set_sustain(channel, value >= 64);
    if (number == kSostenuto) set_sostenuto(channel, value >= 64);
    if (number == kResetControllers) {
      set_sustain(channel, false);
      set_sostenuto(channel, false);
    }
    if (number == kAllSoundOff)
      for (int key = 0; key < kMidiKeys; ++key) end(channel, key);
    if (number >= kAllNotesOff)
      for (int key = 0; key < kMidiKeys; ++key) note_off(channel, static_cast<std::uint8_t>(key));
  }

  /// Ends all that sounds, pedals or not. How many keys nobody had let go.
  std::int64_t end_all() {
    std::int64_t down = 0;
    for (int channel = 0; channel < kMidiChannels; ++channel)
      for (int key = 0; key < kMidiKeys; ++key) {
        const std::size_t at = place(channel, key);
        if (sounds_.test(at) && !let_go_.test(at)) ++down;
        end(channel, key);
      }
    return down;
  }

  void end(int channel, int key) {
    const std::size_t at = place(channel, key);
    let_go_.reset(at);
    caught_.reset(at);
    if (!sounds_.test(at)) return;
    sounds_.reset(at);
    listener_.end(channel, key);
  }

 private:
  static std::size_t place(int channel, int key) {
    return static_cast<std::size_t>(channel * kMidiKeys + key);
  }

  void set_sustain(int channel, bool down) {
    const auto c = static_cast<std::size_t>(channel);
    const bool released = sustain_.test(c) && !down;
    sustain_.set(c, down);
    if (released) end_unheld(channel);
  }

  void set_sostenuto(int channel, bool down) {
    const auto c = static_cast<std::size_t>(channel);
    if (down == sostenuto_.test(c)) return;
    sostenuto_.set(c, down);
    for (int key = 0; key < kMidiKeys; ++key) {
      const std::size_t at = place(channel, key);
      caught_.set(at, down && sounds_.test(at) && !let_go_.test(at));
    }
    if (!down) end_unheld(channel);
  }

  // Ends the keys that were let go and that no pedal holds any more.
  void end_unheld(int channel) {
    if (sustain_.test(static_cast<std::size_t>(channel))) return;
    for (int key = 0; key < kMidiKeys; ++key)
      if (let_go_.test(place(channel, key)) && !caught_.test(place(channel, key))) end(channel, key);
  }

  using All = std::bitset<static_cast<std::size_t>(kMidiChannels* kMidiKeys)>;
  Listener& listener_;
  All sounds_, let_go_, caught_;
  std::bitset<kMidiChannels> sustain_, sostenuto_;
};

}  // namespace burstloom
