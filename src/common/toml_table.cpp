#include "burstloom/common/toml_table.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/nearest.hpp"
#include "burstloom/common/words.hpp"
#include "toml_depth.hpp"
#include "toml_slips.hpp"

namespace burstloom {
namespace {

std::string words(double value) {
  std::ostringstream text;
  text << value;
  return text.str();
}

std::string_view line_of(std::string_view text, std::size_t number) {
  for (; number > 1; --number) text.remove_prefix(std::min(text.find('\n'), text.size() - 1) + 1);
  return text.substr(0, text.find_first_of("\r\n"));
}

std::string place(const std::string& file, std::size_t line) {
  return file + ", line " + std::to_string(std::max<std::size_t>(1, line));
}

void require_size(std::size_t size, const std::string& file) {
  if (size > kLargestToml)
    throw bad_input(
        "has " + std::to_string(size) + " bytes, and such a file has at most " + std::to_string(kLargestToml),
        file, "give the file that was meant");
}

// A library's words about text that may be long.
std::string brief(std::string_view text) {
  return printable(std::string(text.substr(0, 400)), 160);
}

}  // namespace

toml::table parsed_toml(std::string_view text, const std::string& file) {
  require_size(text.size(), file);
  require_shallow(text, file);
  try {
    return toml::parse(text, std::string_view{});
  } catch (const toml::parse_error& error) {
    const std::string where = place(file, error.source().begin.line);
    if (const auto slip = slip_in(line_of(text, error.source().begin.line)))
      throw bad_input(slip->what, where, slip->what_to_do);
    throw bad_input("this is not valid TOML (" + brief(error.description()) + ")", where,
                    "correct that line: keys are written as gap_us = 400.0, text stands in quotes");
  }
}

TomlTable::TomlTable(const toml::table& table, std::string path, const std::string& file)
    : table_(table), path_(std::move(path)), file_(file) {}

std::optional<double> TomlTable::number(const char* key, double low, double high) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  const auto value = node->value<double>();
  if (!value || !(*value >= low && *value <= high))
    refuse(key, *node, "give a number from " + words(low) + " to " + words(high));
  return value;
}

std::optional<int> TomlTable::whole(const char* key, int low, int high) {
  const auto value = number(key, low, high);
  if (value && *value != std::floor(*value)) refuse(key, *find(key), "give a whole number");
  return value ? std::optional(static_cast<int>(*value)) : std::nullopt;
}

std::optional<bool> TomlTable::flag(const char* key) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  if (!node->is_boolean()) refuse(key, *node, "give true or false");
  return node->value<bool>();
}

std::optional<std::string> TomlTable::text(const char* key, std::size_t most) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  auto value = node->value<std::string>();
  if (!node->is_string() || value->empty() || value->size() > most || printable(*value, most) != *value)
    refuse(key, *node,
           "give 1 to " + std::to_string(most) + " bytes of text without control or invisible characters");
  return value;
}

std::optional<std::size_t> TomlTable::choice(const char* key, const std::vector<std::string>& choices) {
  const toml::node* node = find(key);
  if (node == nullptr) return std::nullopt;
  const auto word = node->value<std::string>();
  const auto found = word ? std::find(choices.begin(), choices.end(), *word) : choices.end();
  if (found == choices.end())
    refuse(key, *node, did_you_mean(word.value_or(""), choices, "choose one of: " + listed(choices)));
  return static_cast<std::size_t>(found - choices.begin());
}

const toml::table* TomlTable::table(const char* key) {
  const toml::node* node = find(key);
  if (node != nullptr && !node->is_table()) refuse(key, *node, "make it a table, [" + std::string(key) + "]");
  return node == nullptr ? nullptr : node->as_table();
}

void TomlTable::each(const char* key, const std::function<void(TomlTable)>& use) {
  const toml::node* node = find(key);
  if (node == nullptr) return;
  const toml::array* list = node->as_array();
  if (list == nullptr) refuse(key, *node, "make it a list of tables, [[" + std::string(key) + "]]");
  for (const toml::node& entry : *list) {
    if (!entry.is_table()) refuse(key, entry, "make each entry a table, [[" + std::string(key) + "]]");
    use(TomlTable(*entry.as_table(), key, file_));
  }
}

void TomlTable::refuse_what_is_left() const {
  for (auto&& [key, node] : table_)
    if (std::find(asked_.begin(), asked_.end(), key.str()) == asked_.end())
      refuse_unknown(key, did_you_mean(key.str(), asked_, "known are: " + listed(asked_)));
}

void TomlTable::refuse_unknown(const toml::key& key, const std::string& what_to_do) const {
  fail("there is no key \"" + printable(std::string(key.str())) + "\"" +
           (path_.empty() ? "" : " in [" + path_ + "]"),
       key.source().begin.line, what_to_do);
}

void TomlTable::refuse(const std::string& key, const toml::node& node, const std::string& what_to_do) const {
  std::ostringstream found;
  node.visit([&](const auto& value) {
    if constexpr (toml::is_value<decltype(value)>) found << value;
  });
  const std::string shown = node.is_table()   ? "a table"
                            : node.is_array() ? "a list"
                                              : printable(found.str(), 60);
  fail((path_.empty() ? "" : path_ + ".") + key + " is " + shown, node.source().begin.line, what_to_do);
}

void TomlTable::refuse_without(const std::string& key, const std::string& example) const {
  for (auto&& [name, node] : table_)
    if (!nearest(name.str(), {key}).empty()) refuse_unknown(name, "did you mean " + key + "?");
  fail(path_.empty() ? "does not say which " + key + " it is for"
                     : "an entry of [[" + path_ + "]] does not say which " + key + " it is for",
       table_.source().begin.line, "give it one: " + key + " = " + example);
}

std::string TomlTable::where(const char* key) const {
  const toml::node* node = table_.get(key);
  return place(file_, (node == nullptr ? table_.source() : node->source()).begin.line);
}

const toml::node* TomlTable::find(const char* key) {
  if (std::find(asked_.begin(), asked_.end(), key) == asked_.end()) asked_.emplace_back(key);
  return table_.get(key);
}

void TomlTable::fail(const std::string& what, std::size_t line, const std::string& what_to_do) const {
  throw bad_input(what, place(file_, line), what_to_do);
}

}  // namespace burstloom
