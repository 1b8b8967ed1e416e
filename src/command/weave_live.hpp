// `weave --live`: a MIDI file played as live playing would play it.
#pragma once

#include <string>

#include "burstloom/weave/song.hpp"
#include "command_line.hpp"

namespace burstloom::command {

/// Writes `out`. Throws Error: usage for a recording, or what only a song known ahead can have.
void weave_live(const SongRequest& song, const std::string& coil, const std::string& out, WeaveOptions weave,
                std::optional<int> voices, bool as_json, Answer& answer);

}  // namespace burstloom::command
