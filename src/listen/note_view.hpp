// What note tracking looks at, a frame each kHop_s.
#pragma once

#include <vector>

#include "pitch_frames.hpp"
#include "thinned.hpp"

namespace burstloom {

struct NoteView {
  WeightFrames weights;        ///< how strongly each pitch sounds, as PitchWeights has it; 186 ms windows
  LevelFrames attack;          ///< dB at the pitch's first harmonics; 46 ms windows, to tell when it began
  std::vector<float> loudest;  ///< weight of any pitch within a quarter of a second
};

[[nodiscard]] NoteView note_view(Thinned& sound, double length_s);

}  // namespace burstloom
