// Quayside Lanterns: the bundled song.
#pragma once

#include <string>

namespace samples {

/// Writes the song as a Standard MIDI File of format 1. Throws burstloom::Error.
void write_quayside_lanterns(const std::string& path);

}  // namespace samples
