// What a WAV file of a gate must keep, for the writer and the reader.
#pragma once

#include "burstloom/stream/burst.hpp"

namespace burstloom::wav {

/// Samples a second; below it a burst of 10 us has less than two samples.
inline constexpr int kLowestRate = 192'000;

}  // namespace burstloom::wav
