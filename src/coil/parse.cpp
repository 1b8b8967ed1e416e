// TOML into a Profile: every key is looked up in the declarations of keys.cpp and checked by them.
#include <algorithm>
#include <cmath>
#include <sstream>

#include "burstloom/coil/profile.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/common/file_kind.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/common/nearest.hpp"
#include "burstloom/common/toml_table.hpp"
#include "contradictions.hpp"
#include "keys.hpp"
#include "suggest.hpp"

namespace burstloom {
namespace {

std::string joined(const std::string& table, std::string_view name) {
  return table.empty() ? std::string(name) : table + "." + std::string(name);
}

// Fit for a message, however long it is in the file.
std::string brief(std::string text, std::size_t longest) {
  constexpr std::size_t kKept = 400;
  if (text.size() > 2 * kKept) text.erase(kKept, text.size() - 2 * kKept);
  return printable(text, longest);
}

// What stands in the file, short enough for a message.
std::string found(const toml::node& node) {
  if (node.is_table()) return "a table";
  if (node.is_array()) return "an array";
  if (node.is_string()) return "\"" + brief(node.value_or(std::string{}), 60) + "\"";
  if (node.is_floating_point() && std::isfinite(node.value_or(0.0))) return plain(node.value_or(0.0));
  std::ostringstream text;
  node.visit([&](const auto& value) {
    if constexpr (toml::is_value<decltype(value)>) text << value;
  });
  return brief(text.str(), 60);
}

std::size_t line_of(const toml::source_region& source) {
  return std::max<std::size_t>(1, source.begin.line);
}

// What a key takes, for the end of a message.
std::string wanted(const Key& key) {
  const std::string unit = key.unit.empty() ? "" : " (in " + key.unit + ")";
  switch (key.kind) {
    case KeyKind::table:
      return "a table";
    case KeyKind::list:
      return "a list of " + key.allowed() + ", each a table";
    case KeyKind::number:
      return "a number " + key.allowed() + unit;
    case KeyKind::numbers:
      return "an array of " + key.allowed() + unit;
    case KeyKind::text:
      return key.allowed() + " without control or invisible characters";
    default:
      return key.allowed() + unit;
  }
}

// Reads one profile. `path` is a key's declared path ("limits.duty[].percent"), `shown` the same with list
// entries counted ("limits.duty[2].percent").
class Reader {
 public:
  Reader(const std::string& file, Profile& profile, KeyLines& lines)
      : file_(file), profile_(profile), lines_(lines) {}

  void read_table(const toml::table& table, const std::string& path, const std::string& shown) {
    std::vector<std::pair<const toml::key*, const toml::node*>> entries;
    for (auto&& [key, node] : table) entries.emplace_back(&key, &node);
    std::stable_sort(entries.begin(), entries.end(), [](const auto& one, const auto& other) {
      return line_of(one.first->source()) < line_of(other.first->source());
    });
    for (const auto& [key, node] : entries) read_entry(*key, *node, path, shown);
    require_all_needed(table, path, shown);
  }

 private:
  void read_entry(const toml::key& name, const toml::node& node, const std::string& path,
                  const std::string& shown) {
    const std::size_t line = line_of(name.source());
    const Key* key = find_key(joined(path, name.str()));
    if (key == nullptr || name.str().find('.') != std::string_view::npos)
      refuse_unknown(name, path, shown, line);
    const std::string shown_key = joined(shown, name.str());
    lines_.line[shown_key] = line;
    read_value(*key, node, shown_key);
  }

  void read_value(const Key& key, const toml::node& node, const std::string& shown) {
    switch (key.kind) {
      case KeyKind::table:
        if (!node.is_table()) refuse(shown, node, "make it a table");
        if (key.store) key.store(profile_, {});
        return read_table(*node.as_table(), key.path, shown);
      case KeyKind::list:
        return read_list(key, node, shown);
      default:
        key.store(profile_, given(key, node, shown));
    }
  }

  void read_list(const Key& key, const toml::node& node, const std::string& shown) {
    const toml::array* entries = node.as_array();
    if (entries == nullptr) refuse(shown, node, "give " + wanted(key));
    require_count(key, entries->size(), shown);
    for (std::size_t i = 0; i < entries->size(); ++i) {
      const toml::node& one = (*entries)[i];
      const std::string shown_entry = shown + "[" + std::to_string(i + 1) + "]";
      lines_.line[shown_entry] = line_of(one.source());
      if (!one.is_table()) refuse(shown_entry, one, "make it a table");
      key.store(profile_, {});
      read_table(*one.as_table(), key.path + "[]", shown_entry);
    }
  }

  Given given(const Key& key, const toml::node& node, const std::string& shown) {
    switch (key.kind) {
      case KeyKind::flag:
        if (!node.is_boolean()) break;
        return node.value_or(false);
      case KeyKind::text:
        return text(key, node, shown);
      case KeyKind::choice:
        return choice(key, node, shown);
      case KeyKind::numbers:
        return numbers(key, node, shown);
      default:
        return number(key, node, shown);
    }
    refuse(shown, node, "give " + wanted(key));
  }

  double number(const Key& key, const toml::node& node, const std::string& shown) {
    const bool type_fits = node.is_integer() || (node.is_floating_point() && key.kind == KeyKind::number);
    const double value = type_fits ? node.value_or(0.0) : 0.0;
    if (!type_fits || !key.range.holds(value)) refuse(shown, node, "give " + wanted(key));
    return value + 0.0;  // -0 becomes 0
  }

  std::vector<double> numbers(const Key& key, const toml::node& node, const std::string& shown) {
    const toml::array* array = node.as_array();
    if (array == nullptr) refuse(shown, node, "give " + wanted(key));
    require_count(key, array->size(), shown);
    Key one = key;
    one.kind = KeyKind::number;
    std::vector<double> values;
    for (const toml::node& each : *array) {
      const std::string shown_entry = shown + "[" + std::to_string(values.size() + 1) + "]";
      lines_.line[shown_entry] = line_of(each.source());
      values.push_back(number(one, each, shown_entry));
    }
    return values;
  }

  std::string text(const Key& key, const toml::node& node, const std::string& shown) {
    std::string value = node.value_or(std::string{});
    if (!node.is_string() || value.empty() || value.size() > key.most || printable(value, key.most) != value)
      refuse(shown, node, "give " + wanted(key));
    return value;
  }

  std::size_t choice(const Key& key, const toml::node& node, const std::string& shown) {
    const auto at = std::find(key.choices.begin(), key.choices.end(), node.value_or(std::string{}));
    if (!node.is_string() || at == key.choices.end())
      refuse(shown, node, did_you_mean(node.value_or(std::string{}), key.choices, "give " + wanted(key)));
    return static_cast<std::size_t>(at - key.choices.begin());
  }

  void require_count(const Key& key, std::size_t count, const std::string& shown) {
    if (count < 1 || count > key.most)
      throw bad_input(shown + " has " + std::to_string(count) + " entries", lines_.where(shown),
                      "give " + key.allowed());
  }

  void require_all_needed(const toml::table& table, const std::string& path, const std::string& shown) {
    for (const Key& key : all_keys()) {
      if (!key.required || parent_of(key.path) != path || table.contains(last_part_of(key.path))) continue;
      const std::string missing = joined(shown, last_part_of(key.path));
      throw bad_input(missing + " is missing", lines_.where(missing),
                      "give " + wanted(key) + ": " + key.meaning);
    }
  }

  [[noreturn]] void refuse(const std::string& shown, const toml::node& node, const std::string& do_this) {
    throw bad_input(shown + " is " + found(node), lines_.where(shown), do_this);
  }

  [[noreturn]] void refuse_unknown(const toml::key& name, const std::string& path, const std::string& shown,
                                   std::size_t line) {
    const std::string nearest = nearest_key(path, name.str());
    const std::string where = path.empty()          ? "the top of a profile"
                              : path.ends_with("]") ? "a list entry"
                                                    : "[" + path + "]";
    throw bad_input("unknown key '" + brief(joined(shown, name.str()), 100) + "' in " + where,
                    file_ + ", line " + std::to_string(line),
                    nearest.empty()
                        ? "remove it; docs/reference/coil-profile.md lists the keys"
                        : "did you mean " +
                              (parent_of(nearest) == path ? std::string(last_part_of(nearest)) : nearest) +
                              "? docs/reference/coil-profile.md lists the keys");
  }

  const std::string& file_;
  Profile& profile_;
  KeyLines& lines_;
};

}  // namespace

Profile parse_profile(std::string_view text, const std::string& name) {
  const std::string file = printable(name, 200);
  require_kind(FileKind::profile, text, file);
  const toml::table table = parsed_toml(text, file);
  Profile profile;
  KeyLines lines{file, {}};
  Reader(file, profile, lines).read_table(table, "", "");
  require_consistent(profile, lines);
  std::sort(profile.limits.duty.begin(), profile.limits.duty.end(),
            [](const DutyLimit& one, const DutyLimit& other) { return one.window_ms < other.window_ms; });
  profile.text = std::string(text);
  return profile;
}

Profile read_profile(const std::string& path) {
  const Bytes bytes = read_file(path, kLargestToml);
  return parse_profile({reinterpret_cast<const char*>(bytes.data()), bytes.size()}, path);
}

}  // namespace burstloom
