#include "burstloom/sets/set_file.hpp"

#include <algorithm>
#include <filesystem>
#include <functional>
#include <sstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/toml_table.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLongestText = 1000;
constexpr std::size_t kMostSongs = 100;
constexpr double kDay_s = 86'400;

// Looks whether the file that a key names is there.
using RequireFile = std::function<void(const TomlTable&, const char* key, const std::string& named)>;

SetSong read_song(TomlTable& table, const RequireFile& require) {
  SetSong song;
  const auto file = table.text("file", kLongestText);
  if (!file) table.refuse_without("file", "\"song.mid\"");
  song.file = *file;
  song.title = table.text("title", kLongestText).value_or("");
  song.arrangement = table.text("arrangement", kLongestText).value_or("");
  song.how = table.text("how", 40).value_or("");
  song.transpose = table.number("transpose", -60, 60).value_or(0);
  song.gain_db = table.number("gain_db", -40, 20).value_or(0);
  song.voices = table.whole("voices", 1, 16);
  song.snap = table.whole("snap", 1, 16);
  song.carrier_hz = table.number("carrier_hz", 100, 100'000);
  song.keep_silence = table.flag("keep_silence").value_or(false);
  song.pause_s = table.number("pause_s", 0, kDay_s);
  table.refuse_what_is_left();
  require(table, "file", song.file);
  require(table, "arrangement", song.arrangement);
  return song;
}

// One key at a time, in the order in which they are read.
class Writer {
 public:
  void heading(const std::string& text) { text_ << text << "\n"; }
  template <class Value>
  void key(const char* name, const Value& value) {
    text_ << toml::table{{name, value}} << "\n";
  }
  template <class Value>
  void key_unless(const char* name, const Value& value, const Value& fallback) {
    if (value != fallback) key(name, value);
  }
  template <class Value>
  void key_if(const char* name, const std::optional<Value>& value) {
    if (value) key(name, *value);
  }
  [[nodiscard]] std::string text() const { return text_.str(); }

 private:
  std::ostringstream text_;
};

void write_song(Writer& to, const SetSong& song, double pause_s) {
  const SetSong plain;
  to.heading("\n[[song]]");
  to.key("file", song.file);
  to.key_unless("title", song.title, plain.title);
  to.key_unless("arrangement", song.arrangement, plain.arrangement);
  to.key_unless("how", song.how, plain.how);
  to.key_unless("transpose", song.transpose, plain.transpose);
  to.key_unless("gain_db", song.gain_db, plain.gain_db);
  to.key_if("voices", song.voices);
  to.key_if("snap", song.snap);
  to.key_if("carrier_hz", song.carrier_hz);
  to.key_unless("keep_silence", song.keep_silence, plain.keep_silence);
  to.key("pause_s", pause_s);
}

}  // namespace

std::string SetFile::path_of(const std::string& named) const {
  return named.empty() ? named : (std::filesystem::path(folder) / named).string();
}

namespace {

SetFile read_all(std::string_view text, const std::string& name, const std::string& folder,
                 const RequireFile& require) {
  require_kind(FileKind::set, text, name);
  const toml::table given = parsed_toml(text, name);
  TomlTable top(given, "", name);
  SetFile set;
  set.file = name;
  set.folder = folder;
  set.name = top.text("name", kLongestText).value_or("");
  const auto coil = top.text("coil", kLongestText);
  if (!coil) top.refuse_without("coil", "\"coil.toml\"");
  set.coil = *coil;
  set.start_c = top.number("start_c", -60, 300);
  set.pause_s = top.number("pause_s", 0, kDay_s).value_or(set.pause_s);
  top.each("song", [&](TomlTable table) { set.songs.push_back(read_song(table, require)); });
  top.refuse_what_is_left();
  require(top, "coil", set.coil);
  if (set.songs.empty() || set.songs.size() > kMostSongs)
    throw bad_input(
        "there are " + std::to_string(set.songs.size()) + " songs", name,
        "give 1 to " + std::to_string(kMostSongs) + ", each as a table [[song]] with file = \"song.mid\"");
  return set;
}

}  // namespace

SetFile parse_set(std::string_view text, const std::string& name, const std::string& folder) {
  return read_all(text, name, folder, [](const TomlTable&, const char*, const std::string&) {});
}

SetFile read_set(const std::string& path) {
  const Bytes bytes = read_file(path, kLargestToml);
  const std::filesystem::path folder = std::filesystem::path(path).parent_path();
  const RequireFile require = [&](const TomlTable& table, const char* key, const std::string& named) {
    std::error_code ignored;
    if (named.empty() || std::filesystem::exists(folder / named, ignored)) return;
    const Error missing = no_such_file((folder / named).string());
    throw bad_input("\"" + printable(named) + "\": " + missing.problem(), table.where(key),
                    missing.what_to_do());
  };
  SetFile set = read_all({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, printable(path, 200),
                         folder.string(), require);
  if (set.name.empty()) set.name = std::filesystem::path(path).stem().string();
  return set;
}

std::string to_toml(const SetFile& set, const std::string& note) {
  Writer to;
  to.heading("# " + printable(note, 400));
  to.key_unless("name", set.name, std::string());
  to.key("coil", set.coil);
  to.key_if("start_c", set.start_c);
  to.key("pause_s", set.pause_s);
  for (std::size_t i = 0; i < set.songs.size(); ++i) write_song(to, set.songs[i], set.pause_after_s(i));
  return to.text();
}

}  // namespace burstloom
