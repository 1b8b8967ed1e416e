#include "set_folder.hpp"

#include <filesystem>

#include "burstloom/sets/set_json.hpp"

namespace burstloom::command {

SetStreams streams_of_set(const std::string& path) {
  const std::filesystem::path named = path;
  const auto folder = named.filename() == "set.json" ? named.parent_path() : named;
  const BuiltSet set = read_built_set((folder / "set.json").string());
  SetStreams streams{.paths = {}, .pauses_s = {}, .profile = set.profile};
  for (const BuiltSong& song : set.songs) {
    streams.paths.push_back((folder / song.burst_file).string());
    streams.pauses_s.push_back(song.pause_after_s);
  }
  return streams;
}

void open_set(std::vector<std::string>& paths, std::vector<double>& pauses_s) {
  std::error_code none;
  if (paths.size() != 1 || !std::filesystem::is_directory(paths.front(), none)) return;
  SetStreams streams = streams_of_set(paths.front());
  paths = std::move(streams.paths);
  if (pauses_s.empty() && paths.size() > 1) pauses_s = std::move(streams.pauses_s);
}

}  // namespace burstloom::command
