// Limits that cannot all hold.
#pragma once

#include "burstloom/coil/profile.hpp"
#include "lines.hpp"

namespace burstloom {

/// Throws Error (bad_input) when the profile's keys, each in range, contradict each other: limits that no
/// burst keeps, bench points that are no curve, keys of the wrong kind of switch.
void require_consistent(const Profile& profile, const KeyLines& lines);

}  // namespace burstloom
