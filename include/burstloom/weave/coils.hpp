// Several coils at once: who plays what.
#pragma once

#include <cstddef>
#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom {

/// What one of several coils is to play. A coil with neither parts nor channels plays what no other claims.
struct CoilShare {
  std::vector<Part>
      parts;  ///< as the arrangement says, else as weaving guesses them (lead, bass, inner, drums)
  std::vector<int> channels;  ///< 0 to 15
};

/// One score for each coil: each note goes to the first that names its channel, else to the first that names
/// its part, else to the first that takes the rest; a note that nobody takes is left out and told among that
/// first score's remarks. All keep the song's length and its controllers, and each note says the part that it
/// has in the whole, so that streams woven at one tick_hz, each by its own profile, run side by side.
[[nodiscard]] std::vector<Score> split_for_coils(const Score& score, const std::vector<CoilShare>& shares);

}  // namespace burstloom
