// Octaves: notes that the coil cannot follow, or that would be heard as single bursts, are moved by whole
// octaves.
#pragma once

#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom::weave_detail {

/// How many octaves each note of the score is moved (downwards negative), so that its break rate, its bend at
/// the onset included, lies between `lowest_hz` and `highest_hz`. Phrases (one track's channel, silences
/// under kPhraseGap_s) are moved as a whole, by the fewest octaves that leave the fewest notes outside; what
/// is then still outside is moved note by note. Where the range is less than an octave, `highest_hz` is what
/// holds. Percussion stays.
[[nodiscard]] std::vector<int> octaves_moved(const Score& score, double lowest_hz, double highest_hz);

/// By how many octaves a single key, its bend included, is to be moved.
[[nodiscard]] int octaves_moved(double key, double lowest_hz, double highest_hz);

}  // namespace burstloom::weave_detail
