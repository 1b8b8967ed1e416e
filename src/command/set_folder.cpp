#include "set_folder.hpp"

#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/sets/set_json.hpp"

namespace burstloom::command {

SetStreams streams_of_set(const std::string& folder) {
  const BuiltSet set = read_built_set(folder);
  SetStreams streams;
  if (!set.profile.empty())
    streams.profile = started_at(parse_profile(set.profile, printable(folder, 200) + " (the profile in it)"),
                                 set.start_c, set.start_c)
                          .text;
  for (const BuiltSong& song : set.songs) {
    streams.paths.push_back((std::filesystem::path(folder) / song.burst_file).string());
    streams.pauses_s.push_back(song.pause_after_s);
  }
  return streams;
}

void open_set(std::vector<std::string>& paths, std::vector<double>& pauses_s) {
  std::error_code none;
  if (paths.size() != 1 || !std::filesystem::is_directory(paths.front(), none)) return;
  SetStreams streams = streams_of_set(paths.front());
  paths = std::move(streams.paths);
  if (pauses_s.empty()) pauses_s = std::move(streams.pauses_s);
}

}  // namespace burstloom::command
