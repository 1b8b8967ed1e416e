// TOML into an Arrangement.
#include <toml++/toml.h>

#include <algorithm>

#include "burstloom/common/error.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/toml_table.hpp"
#include "burstloom/score/arrangement.hpp"

namespace burstloom {
namespace {

Line read_line(TomlTable& table, const char* number, int highest) {
  Line line;
  const auto given = table.whole(number, 1, highest);
  if (!given) table.refuse_without(number, "1");
  line.number = *given;
  line.on = table.flag("on").value_or(true);
  constexpr Part kParts[] = {Part::any, Part::lead, Part::bass, Part::inner, Part::drums};
  if (const auto role = table.choice("role", {"any", "lead", "bass", "inner", "drums"}))
    line.role = kParts[*role];
  line.transpose = table.number("transpose", -60, 60).value_or(0);
  line.gain_db = table.number("gain_db", -40, 20).value_or(0);
  line.voices = table.whole("voices", 1, 16);
  if (const auto envelope = table.choice("envelope", {"held", "plucked"}))
    line.envelope = *envelope == 0 ? Envelope::held : Envelope::plucked;
  table.refuse_what_is_left();
  return line;
}

std::vector<Line> read_lines(TomlTable& top, const char* list, int highest) {
  std::vector<Line> lines;
  top.each(list, [&](TomlTable table) {
    lines.push_back(read_line(table, list, highest));
    const int number = lines.back().number;
    if (std::count_if(lines.begin(), lines.end(), [&](const Line& line) { return line.number == number; }) >
        1)
      table.refuse(list, *table.all().get(list), "say all of it in one entry");
  });
  return lines;
}

void read_song(const toml::table& given, const std::string& file, Arrangement& arrangement) {
  TomlTable song(given, "song", file);
  constexpr double kDay_s = 86'400;
  arrangement.transpose = song.number("transpose", -60, 60).value_or(0);
  arrangement.gain_db = song.number("gain_db", -40, 20).value_or(0);
  arrangement.tempo_factor = song.number("tempo_factor", 0.25, 4).value_or(1);
  arrangement.start_s = song.number("start_s", 0, kDay_s).value_or(0);
  arrangement.end_s = song.number("end_s", 0, kDay_s);
  arrangement.fade_in_s = song.number("fade_in_s", 0, 60).value_or(0);
  arrangement.fade_out_s = song.number("fade_out_s", 0, 60).value_or(0);
  if (arrangement.end_s && *arrangement.end_s <= arrangement.start_s)
    song.refuse("end_s", *given.get("end_s"), "end after start_s");
  song.refuse_what_is_left();
}

void read_drums(const toml::table& given, const std::string& file, Arrangement& arrangement) {
  TomlTable drums(given, "drums", file);
  for (auto&& [key, node] : given) {
    const std::string name(key.str());
    const bool digits =
        !name.empty() && name.size() <= 3 &&
        std::all_of(name.begin(), name.end(), [](unsigned char c) { return std::isdigit(c); });
    if (!digits || std::stoi(name) > 127)
      drums.refuse(name, node, "name a drum by its number, 0 to 127, as in 38 = \"off\"");
    const int from = std::stoi(name);
    if (node.value<std::string>() == "off")
      arrangement.drums[from] = std::nullopt;
    else if (node.is_integer())
      arrangement.drums[from] = *drums.whole(name.c_str(), 0, 127);
    else
      drums.refuse(name, node, "give another percussion key, 0 to 127, or \"off\"");
  }
}

}  // namespace

Arrangement parse_arrangement(std::string_view text, const std::string& name) {
  if (!text.empty()) require_kind(FileKind::arrangement, text, name);
  const toml::table given = parsed_toml(text, name);
  Arrangement arrangement;
  TomlTable top(given, "", name);
  if (const toml::table* song = top.table("song")) read_song(*song, name, arrangement);
  arrangement.channels = read_lines(top, "channel", 16);
  arrangement.tracks = read_lines(top, "track", 65'535);
  if (const toml::table* drums = top.table("drums")) read_drums(*drums, name, arrangement);
  top.refuse_what_is_left();
  return arrangement;
}

Arrangement read_arrangement(const std::string& path) {
  const Bytes bytes = read_file(path, kLargestToml);
  return parse_arrangement({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, printable(path, 200));
}

}  // namespace burstloom
