// The notes that sound, each a train of bursts, played together in order of time.
#pragma once

#include <vector>

#include "burstloom/weave/weave.hpp"
#include "loudness.hpp"
#include "voices.hpp"

namespace burstloom::weave_detail {

/// What trains of one coil may do.
struct TrainLimits {
  double highest_hz = 1e6;
  Tick gap = 1;  ///< ticks from a burst's end to the next one's start, at least
};

/// The bursts of all notes in order of start: pitch, loudness and phase as weave.hpp and phase.hpp say.
[[nodiscard]] std::vector<WantedBurst> bursts_of(std::vector<Sounding> sounding, const Score& score,
                                                 const Loudness& loudness, const TrainLimits& limits,
                                                 const WeaveOptions& options);

}  // namespace burstloom::weave_detail
