// TOML into an Arrangement.
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <sstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/score/arrangement.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kLargestFile = std::size_t{1} << 20;

// A table whose keys are asked for one by one; what is left over in the end is unknown.
class Table {
 public:
  Table(const toml::table& table, std::string path, const std::string& file)
      : table_(table), path_(std::move(path)), file_(file) {}

  [[nodiscard]] std::optional<double> number(const char* key, double low, double high) {
    const toml::node* node = find(key);
    if (node == nullptr) return std::nullopt;
    const auto value = node->value<double>();
    if (!value || !(*value >= low && *value <= high))
      refuse(key, *node, "give a number from " + words(low) + " to " + words(high));
    return value;
  }
  [[nodiscard]] std::optional<int> whole(const char* key, int low, int high) {
    const auto value = number(key, low, high);
    if (value && *value != std::floor(*value)) refuse(key, *find(key), "give a whole number");
    return value ? std::optional(static_cast<int>(*value)) : std::nullopt;
  }
  [[nodiscard]] std::optional<bool> flag(const char* key) {
    const toml::node* node = find(key);
    if (node == nullptr) return std::nullopt;
    if (!node->is_boolean()) refuse(key, *node, "give true or false");
    return node->value<bool>();
  }
  /// The place of the word among `choices`.
  [[nodiscard]] std::optional<std::size_t> choice(const char* key, const std::vector<std::string>& choices) {
    const toml::node* node = find(key);
    if (node == nullptr) return std::nullopt;
    const auto word = node->value<std::string>();
    const auto found = word ? std::find(choices.begin(), choices.end(), *word) : choices.end();
    if (found == choices.end()) refuse(key, *node, "choose one of: " + joined(choices));
    return static_cast<std::size_t>(found - choices.begin());
  }
  [[nodiscard]] const toml::table* table(const char* key) {
    const toml::node* node = find(key);
    if (node != nullptr && !node->is_table())
      refuse(key, *node, "make it a table, [" + std::string(key) + "]");
    return node == nullptr ? nullptr : node->as_table();
  }
  /// Every entry of a list of tables.
  void each(const char* key, const std::function<void(Table)>& use) {
    const toml::node* node = find(key);
    if (node == nullptr) return;
    const toml::array* list = node->as_array();
    if (list == nullptr) refuse(key, *node, "make it a list of tables, [[" + std::string(key) + "]]");
    for (const toml::node& entry : *list) {
      if (!entry.is_table()) refuse(key, entry, "make each entry a table, [[" + std::string(key) + "]]");
      use(Table(*entry.as_table(), key, file_));
    }
  }
  void refuse_what_is_left() const {
    for (auto&& [key, node] : table_)
      if (std::find(asked_.begin(), asked_.end(), key.str()) == asked_.end())
        fail("there is no key \"" + printable(std::string(key.str())) + "\"" +
                 (path_.empty() ? "" : " in [" + path_ + "]"),
             key.source().begin.line, "known are: " + joined(asked_));
  }
  [[noreturn]] void refuse(const std::string& key, const toml::node& node,
                           const std::string& what_to_do) const {
    std::ostringstream found;
    node.visit([&](const auto& value) {
      if constexpr (toml::is_value<decltype(value)>) found << value;
    });
    const std::string shown = node.is_table()   ? "a table"
                              : node.is_array() ? "a list"
                                                : printable(found.str(), 60);
    fail((path_.empty() ? "" : path_ + ".") + key + " is " + shown, node.source().begin.line, what_to_do);
  }
  [[noreturn]] void refuse_without(const std::string& key) const {
    fail("an entry of [[" + path_ + "]] does not say which " + key + " it is for", table_.source().begin.line,
         "give it one: " + key + " = 1");
  }
  [[nodiscard]] const toml::table& all() const { return table_; }

 private:
  const toml::node* find(const char* key) {
    if (std::find(asked_.begin(), asked_.end(), key) == asked_.end()) asked_.emplace_back(key);
    return table_.get(key);
  }
  [[noreturn]] void fail(const std::string& what, std::size_t line, const std::string& what_to_do) const {
    throw bad_input(what, file_ + ", line " + std::to_string(std::max<std::size_t>(1, line)), what_to_do);
  }
  static std::string words(double value) {
    std::ostringstream text;
    text << value;
    return text.str();
  }
  static std::string joined(const std::vector<std::string>& all) {
    std::string text;
    for (const std::string& one : all) text += (text.empty() ? "" : ", ") + one;
    return text;
  }

  const toml::table& table_;
  std::string path_;
  const std::string& file_;
  std::vector<std::string> asked_;
};

Line read_line(Table& table, const char* number, int highest) {
  Line line;
  const auto given = table.whole(number, 1, highest);
  if (!given) table.refuse_without(number);
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

std::vector<Line> read_lines(Table& top, const char* list, int highest) {
  std::vector<Line> lines;
  top.each(list, [&](Table table) {
    lines.push_back(read_line(table, list, highest));
    const int number = lines.back().number;
    if (std::count_if(lines.begin(), lines.end(), [&](const Line& line) { return line.number == number; }) >
        1)
      table.refuse(list, *table.all().get(list), "say all of it in one entry");
  });
  return lines;
}

void read_song(const toml::table& given, const std::string& file, Arrangement& arrangement) {
  Table song(given, "song", file);
  constexpr double kDay_s = 86'400;
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
  Table drums(given, "drums", file);
  for (auto&& [key, node] : given) {
    const std::string name(key.str());
    const bool digits =
        !name.empty() && name.size() <= 3 &&
        std::all_of(name.begin(), name.end(), [](unsigned char c) { return std::isdigit(c); });
    if (!digits || std::stoi(name) > 127) drums.refuse_what_is_left();
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
  toml::table given;
  try {
    given = toml::parse(text);
  } catch (const toml::parse_error& error) {
    throw bad_input("this is no TOML (" + printable(std::string(error.description()), 120) + ")",
                    name + ", line " + std::to_string(error.source().begin.line), "mend that line");
  }
  Arrangement arrangement;
  Table top(given, "", name);
  if (const toml::table* song = top.table("song")) read_song(*song, name, arrangement);
  arrangement.channels = read_lines(top, "channel", 16);
  arrangement.tracks = read_lines(top, "track", 65'535);
  if (const toml::table* drums = top.table("drums")) read_drums(*drums, name, arrangement);
  top.refuse_what_is_left();
  return arrangement;
}

Arrangement read_arrangement(const std::string& path) {
  const Bytes bytes = read_file(path, kLargestFile);
  return parse_arrangement({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, printable(path, 200));
}

}  // namespace burstloom
