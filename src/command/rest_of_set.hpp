// The rest that one image keeps after a stop, after a reset and after its last song.
#pragma once

#include "in_a_row.hpp"

namespace burstloom::command {

/// Seconds, not less than any song's own rest. After it all of the set may be played again, and for ever; and
/// from a stop on, wherever it was: the songs up to it, this rest and what then follows hold as one stream.
/// Assumed: a song is stopped once, at its end, where it has left all its heat. Throws Error (outside_limits)
/// where no day of rest is enough. `whole` is the judgement of all of them.
[[nodiscard]] double rest_of_set(const std::vector<SongInARow>& songs, const Judgement& whole);

}  // namespace burstloom::command
