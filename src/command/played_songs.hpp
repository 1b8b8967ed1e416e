// The songs that a capture should hold, and how what it does hold is said.
#pragma once

#include "burstloom/check/align.hpp"
#include "command_line.hpp"

namespace burstloom::command {

struct SongPlayed {
  std::string path, name;  ///< the name is the file's, without folder and ending
};
[[nodiscard]] std::vector<SongPlayed> read_songs(const std::vector<std::string>& paths);

[[nodiscard]] Json to_json(const Alignment& alignment, const std::vector<SongPlayed>& songs);
[[nodiscard]] std::string describe(const Alignment& alignment, const std::vector<SongPlayed>& songs);

}  // namespace burstloom::command
