#include "played_songs.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>

#include "burstloom/common/error.hpp"

namespace burstloom::command {
namespace {

namespace fs = std::filesystem;

// What is not as it should be, in words.
std::string course_of(const Playing& it) {
  std::string said;
  const auto say = [&](bool applies, const std::string& text) {
    if (applies) said += (said.empty() ? "" : ", ") + text;
  };
  say(!it.from_start, "from " + clock_time(it.song_from_s));
  say(!it.to_end, "stopped at " + clock_time(it.song_until_s));
  say(it.repeated, "again");
  say(it.out_of_order, "out of order");
  return said;
}

std::string signed_figure(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%+.4g", value);
  return text;
}

}  // namespace

std::vector<SongPlayed> read_songs(const std::vector<std::string>& paths) {
  std::vector<SongPlayed> songs;
  for (const std::string& path : paths) songs.push_back({path, printable(fs::path(path).stem().string())});
  return songs;
}

Json to_json(const Alignment& alignment, const std::vector<SongPlayed>& songs) {
  Json json = {{"played", Json::array()}, {"not_played", Json::array()}, {"unknown", Json::array()}};
  for (const Playing& it : alignment.playings)
    json["played"].push_back({{"song", songs[it.song].name},
                              {"number", it.song + 1},
                              {"start_s", it.start_s},
                              {"end_s", it.end_s},
                              {"song_from_s", it.song_from_s},
                              {"song_until_s", it.song_until_s},
                              {"from_start", it.from_start},
                              {"to_end", it.to_end},
                              {"repeated", it.repeated},
                              {"out_of_order", it.out_of_order},
                              {"bursts", it.bursts},
                              {"missing", it.missing},
                              {"extra", it.extra},
                              {"wrong_on_time", it.wrong_on_time},
                              {"clock_ppm", it.clock_ppm},
                              {"jitter_us", it.jitter_us},
                              {"earliest_us", it.earliest_us},
                              {"latest_us", it.latest_us}});
  for (const std::size_t song : alignment.not_played) json["not_played"].push_back(songs[song].name);
  for (const UnknownStretch& it : alignment.unknown)
    json["unknown"].push_back({{"from_s", it.from_s}, {"until_s", it.until_s}, {"bursts", it.bursts}});
  json["unknown_stretches"] = alignment.unknown_stretches;
  json["unknown_bursts"] = alignment.unknown_bursts;
  json["on_time_within_us"] = alignment.on_time_within_us;
  return json;
}

std::string describe(const Alignment& alignment, const std::vector<SongPlayed>& songs) {
  std::vector<std::vector<std::string>> rows = {{"played", "from", "to", "bursts", "missing", "extra",
                                                 "wrong on-time", "clock", "jitter", "early, late", ""}};
  for (const Playing& it : alignment.playings)
    rows.push_back({songs[it.song].name, clock_time(it.start_s), clock_time(it.end_s), grouped(it.bursts),
                    grouped(it.missing), grouped(it.extra), grouped(it.wrong_on_time),
                    signed_figure(it.clock_ppm) + " ppm", figure(it.jitter_us) + " µs",
                    figure(it.earliest_us) + ", " + signed_figure(it.latest_us) + " µs", course_of(it)});
  std::string text = alignment.playings.empty() ? "  none of the songs was played\n" : table(rows);
  for (const std::size_t song : alignment.not_played) text += "  not played: " + songs[song].name + "\n";
  constexpr std::size_t kShown = 10;
  for (std::size_t i = 0; i < std::min(kShown, alignment.unknown.size()); ++i) {
    const UnknownStretch& it = alignment.unknown[i];
    text += "  of no song: " + grouped(it.bursts) + (it.bursts == 1 ? " burst" : " bursts") + " from " +
            clock_time(it.from_s) + " to " + clock_time(it.until_s) + "\n";
  }
  if (alignment.unknown_stretches > static_cast<std::int64_t>(kShown))
    text += "  and " + grouped(alignment.unknown_stretches - static_cast<std::int64_t>(kShown)) +
            " more such stretches, " + grouped(alignment.unknown_bursts) + " bursts in all\n";
  return text;
}

}  // namespace burstloom::command
