// What note tracking looks at, a frame each kHop_s.
#pragma once

#include <array>
#include <vector>

#include "pitch_weights.hpp"
#include "thinned.hpp"

namespace burstloom {

using PitchFrame = std::array<float, kPitches>;

struct NoteView {
  std::vector<PitchFrame>
      weights;  ///< how strongly each pitch sounds, as PitchWeights has it; 186 ms windows
  std::vector<PitchFrame>
      attack;                  ///< dB at the pitch's first harmonics; 46 ms windows, to tell when it began
  std::vector<float> loudest;  ///< weight of any pitch within a quarter of a second
};

[[nodiscard]] NoteView note_view(const Thinned& sound, double length_s);

}  // namespace burstloom
