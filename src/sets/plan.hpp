// The shortest pauses, and which songs to move so that they get shorter still.
#pragma once

#include <vector>

#include "burstloom/sets/built_set.hpp"
#include "heat_of_songs.hpp"

namespace burstloom {

/// A plan for songs that are not to be turned down for what others left: `songs` as they are woven for a coil
/// at ambient. docs/reference/sets.md has the search and its bounds. The same for any number of `jobs`.
[[nodiscard]] SetPlan plan_set(const std::vector<const BurstStream*>& songs, const HeatOfSongs& heat,
                               const Profile& coil, const HeatStart& start, int jobs);

}  // namespace burstloom
