// A profile's limits in a line, and whether two profiles are of one coil.
#pragma once

#include <string>

#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// The limits that are asked about first: "on-time at most 50 µs, gap at least 100 µs, duty at most 20 % of
/// any 10 ms and 10 % of any 1000 ms, peak current at most 60 A".
[[nodiscard]] std::string limits_in_a_line(const Profile& profile);

/// Whether they are the same but for comments and the temperatures at the start, as songs of a set are.
[[nodiscard]] bool is_same_coil(const Profile& a, const Profile& b);

}  // namespace burstloom
