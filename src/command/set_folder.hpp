// The folder of a set that was built, where a command takes streams.
#pragma once

#include <string>
#include <vector>

namespace burstloom::command {

/// The songs of a set in order, the pause after each, s, and the coil's profile at the set's start.
struct SetStreams {
  std::vector<std::string> paths;
  std::vector<double> pauses_s;
  std::string profile;
};

/// What set.json says, named by itself or by its folder. Throws Error (bad_input) where there is none, and
/// where a song is not the stream that was judged.
[[nodiscard]] SetStreams streams_of_set(const std::string& path);

/// If `paths` is the one folder of a set, its songs and (unless `pauses_s` gives others) its pauses in their
/// place.
void open_set(std::vector<std::string>& paths, std::vector<double>& pauses_s);

}  // namespace burstloom::command
