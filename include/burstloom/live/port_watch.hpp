// Which keys and pedals of one port are down, and whether its device is still there.
#pragma once

#include <array>
#include <bitset>

#include "burstloom/live/midi_reader.hpp"

namespace burstloom {

/// A device that has said FE once says something at least this often; after that it is taken for lost
/// (SMF 1.1, Appendix 1.1, "Active Sensing").
inline constexpr double kActiveSensing_s = 0.3;

class PortWatch {
 public:
  /// A message that came in at `at_s`.
  void follow(double at_s, const MidiMessage& message) noexcept;
  /// Whether the device has broken its promise to say something.
  [[nodiscard]] bool fell_silent(double now_s) const noexcept {
    return senses_ && now_s - heard_s_ > kActiveSensing_s;
  }
  /// Gives `say(const MidiMessage&)` the ordinary messages that let go of all that is down; from then on
  /// nothing is, and active sensing begins anew.
  template <typename Say>
  void let_go(Say&& say) noexcept {
    for (std::size_t channel = 0; channel < kChannels; ++channel) {
      if (keys_[channel].any())
        for (std::size_t key = 0; key < kKeys; ++key)
          if (keys_[channel][key])
            say(MidiMessage{{status(0x80, channel), static_cast<std::uint8_t>(key), 64}, 3});
      for (std::size_t i = 0; i < kPedals.size(); ++i)
        if (pedals_[channel][i]) say(MidiMessage{{status(0xB0, channel), kPedals[i], 0}, 3});
    }
    *this = {};
  }
  [[nodiscard]] std::size_t keys_down() const noexcept;

 private:
  static constexpr std::size_t kChannels = kMidiChannels, kKeys = kMidiKeys;
  static constexpr std::array<std::uint8_t, 2> kPedals = {kSustain, kSostenuto};
  static std::uint8_t status(unsigned kind, std::size_t channel) {
    return static_cast<std::uint8_t>(kind | channel);
  }
  void control(std::size_t channel, std::uint8_t number, std::uint8_t value) noexcept;

  std::array<std::bitset<kKeys>, kChannels> keys_{};
  std::array<std::bitset<kPedals.size()>, kChannels> pedals_{};
  bool senses_ = false;
  double heard_s_ = 0;
};

}  // namespace burstloom
