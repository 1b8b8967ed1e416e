// Where a note begins and ends. The coarse look's frames are as long as its lowest pitch needs: they see a
// note some milliseconds too long, and nothing in a steep slide. The fine look knows better.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "fine_period.hpp"

namespace burstloom {

/// Takes frames off both ends of each voiced run while they are 12 dB softer than the run is 15 ms further
/// in.
void trim_ends(std::vector<FinePitch>& pitches);

/// Looks at a frame near a rough period.
using LookCloser = std::function<FinePitch(std::size_t frame, float rough_s)>;

/// Follows each run outwards from both ends, frame by frame, for at most 60 ms, as long as the sound there
/// repeats itself at nearly the period of the frame before. This closes the gaps that steep slides leave.
void extend_ends(std::vector<FinePitch>& pitches, const LookCloser& look);

}  // namespace burstloom
