#include "export_set.hpp"

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "rest_of_set.hpp"

namespace burstloom::command {
namespace {

std::vector<ImageSong> set_songs(const std::vector<SongInARow>& songs, const Judgement& all) {
  std::vector<ImageSong> set;
  for (const SongInARow& song : songs) set.push_back({table_input(song), song.pause_s});
  // An image rests as long as its song of the longest rest.
  set.back().table.rest_before_repeat_s = rest_of_set(songs, all);
  return set;
}

std::vector<std::string> targets_that_hold(const std::vector<ImageSong>& songs) {
  std::vector<std::string> names;
  for (const Target& target : targets())
    if (can_hold(target, songs)) names.push_back(target.name);
  return names;
}

double in_seconds(std::int64_t ms) {
  return static_cast<double>(ms) / 1000;
}

// After a stop, a reset and the last song.
std::int64_t rest_ms(const SetImage& image) {
  return std::ranges::max(image.directory, {}, &SetEntry::rest_ms).rest_ms;
}

Json to_json(const SetEntry& song) {
  return {{"title", song.title},
          {"bursts", song.bursts},
          {"length_s", song.length_s},
          {"pause_s", in_seconds(song.pause_ms)},
          {"rest_s", in_seconds(song.rest_ms)},
          {"encoding", name_of(song.encoding)},
          {"table_bytes", song.table_bytes}};
}

Json to_json(const SetFit& fit) {
  return {{"image_bytes", fit.image_bytes},
          {"flash_used", fit.flash_used},
          {"flash_of", fit.flash_of},
          {"ram_used", fit.ram_used},
          {"ram_of", fit.ram_of}};
}

std::string say(const SetImage& image, const Target& target) {
  std::vector<std::vector<std::string>> rows = {{"", "song", "bursts", "length", "pause after", "table"}};
  for (std::size_t i = 0; i < image.directory.size(); ++i) {
    const SetEntry& song = image.directory[i];
    const bool last = i + 1 == image.directory.size();
    rows.push_back({std::to_string(i), song.title, grouped(song.bursts), song_length(song.length_s),
                    last ? "" : figure(in_seconds(song.pause_ms)) + " s",
                    std::string(name_of(song.encoding)) + ", " + grouped(song.table_bytes) + " bytes"});
  }
  const SetFit& fit = image.fit;
  return table(rows) +
         "  rest after a stop, a reset and the last song: " + figure(in_seconds(rest_ms(image))) +
         " s\n  image " + grouped(fit.image_bytes) + " bytes; " + target.chip + ": flash " +
         grouped(fit.flash_used) + " of " + grouped(fit.flash_of) + " bytes, RAM " + grouped(fit.ram_used) +
         " of " + grouped(fit.ram_of) + " bytes\n";
}

void print_words(const SetExport& wanted, const Judgement& all, const SetImage& image,
                 const std::vector<ImageSong>& songs, const Target& target) {
  std::string holders;
  for (const std::string& name : targets_that_hold(songs)) holders += (holders.empty() ? "" : ", ") + name;
  print(one_line(all) + "\n" + indented(songs.front().table.whose_limits) + say(image, target) +
        "  all of it fits on: " + holders + "\nwritten: " + shown(wanted.out) + "\n");
}

void print_answer(const SetExport& wanted, const Judgement& all, const std::vector<SongInARow>& in_a_row,
                  const SetImage& image, const std::vector<ImageSong>& songs) {
  Json json = command::to_json(all, one_stream(in_a_row));
  json["judged_by"] = command::to_json(in_a_row.front().input.coil);
  json["out"] = wanted.out;
  json["songs"] = Json::array();
  for (const SetEntry& song : image.directory) json["songs"].push_back(to_json(song));
  json["rest_s"] = in_seconds(rest_ms(image));
  json["fit"] = to_json(image.fit);
  json["fits_on"] = targets_that_hold(songs);
  print_json(json);
}

}  // namespace

TableInput table_input(SongInARow song) {
  BurstFile& file = song.input.source.file;
  std::vector<std::string> limits = whose_limits(song.input.coil, song.judgement.not_judged);
  return {std::move(file.stream),  std::move(file.title), std::move(song.input.coil.profile), song.rest_s,
          std::move(file.account), std::move(limits)};
}

void export_set(const SetExport& wanted) {
  refuse_if(wanted.format != "header" && wanted.format != "project",
            "several streams become one image, and --to " + wanted.format + " takes one stream",
            "use --to header or --to project, or export them one by one");
  const Target& target = target_named(wanted.target);
  std::vector<SongInARow> songs = songs_in_a_row(wanted.paths, wanted.coil, wanted.capture, wanted.pauses_s);
  for (SongInARow& song : songs) judge_for(song, "not exported");
  const Judgement all = judge_in_a_row(songs, "not exported");
  const std::vector<ImageSong> set = set_songs(songs, all);
  const SetImage image = set_image(set, target);
  if (wanted.format == "header") {
    write_file(wanted.out, image.header);
  } else {
    write_folder(wanted.out, image.project, wanted.force);
  }
  for (const std::string& line : lengthened_pauses(songs, wanted.pauses_s)) remark(line);
  if (wanted.json) return print_answer(wanted, all, songs, image, set);
  constexpr std::int64_t kLong_ms = 600'000;
  if (rest_ms(image) > kLong_ms)
    remark(
        "the rest after a stop or a reset is that long because the pauses leave little room for a song "
        "played twice: longer pauses make it shorter");
  print_words(wanted, all, image, set, target);
}

}  // namespace burstloom::command
