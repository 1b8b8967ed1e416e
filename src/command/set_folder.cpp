#include "set_folder.hpp"

#include <filesystem>

#include "burstloom/common/error.hpp"
#include "burstloom/common/own_files.hpp"
#include "burstloom/sets/set_json.hpp"

namespace burstloom::command {

namespace {

void require_judged(const std::string& path, const std::string& hash) {
  const auto there = hash_of_plain_file(path);
  if (there == hash) return;
  throw bad_input(there ? "this is not the stream that was judged when the set was built"
                        : "this stream of the set is missing",
                  printable(path, 200), "build the set again");
}

}  // namespace

SetStreams streams_of_set(const std::string& path) {
  const std::filesystem::path named = path;
  const auto folder = named.filename() == "set.json" ? named.parent_path() : named;
  const BuiltSet set = read_built_set((folder / "set.json").string());
  SetStreams streams{.paths = {}, .pauses_s = {}, .profile = set.profile};
  for (const BuiltSong& song : set.songs) {
    require_judged((folder / song.burst_file).string(), song.stream_hash);
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
