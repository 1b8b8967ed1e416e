// The notes of Quayside Lanterns, section by section.
#pragma once

#include <array>
#include <vector>

namespace samples {

inline constexpr double kBeatsABar = 3;
inline constexpr int kVoices = 4;  ///< melody, two inner voices, bass

/// A section: its tempo, how loud it starts and ends (MIDI velocity of the melody), the voices' bars, and
/// what part of its written length a note of the inner voices sounds.
struct Section {
  double beats_a_minute;
  int from_velocity, to_velocity;
  double inner_length;
  bool pedal;   ///< the first inner voice plays with the sustain pedal, changed at each bar
  bool knocks;  ///< percussion on the first beat of every other bar
  std::array<const char*, kVoices> voices;
};

[[nodiscard]] const std::vector<Section>& quayside_sections();

}  // namespace samples
