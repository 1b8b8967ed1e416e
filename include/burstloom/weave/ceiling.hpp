// How much a song may become: told before memory is taken for it.
#pragma once

#include <string>

namespace burstloom {

/// A few bytes of MIDI can ask for days of bursts and all of the memory: longer songs are refused unless
/// somebody allows them.
inline constexpr double kLongestSong_s = 3600;

/// The most bursts that are woven where the longest song lasts `longest_s`.
[[nodiscard]] double most_bursts(double longest_s);

/// Throws Error (bad_input) where a song of `length_s` that wants about `bursts` (0: nobody knows yet) is
/// more than `longest_s` allows. `where` may stay empty for who knows the file.
void require_within_ceiling(double length_s, double bursts, double longest_s, const std::string& where = "");

}  // namespace burstloom
