// A strict reader of TOML tables: every key has a type and a range, and what nobody asked for is an error
// with its line.
#pragma once

#include <toml++/toml.h>

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

/// Larger files are refused: what Burstloom reads as TOML has a few kilobytes.
inline constexpr std::size_t kLargestToml = std::size_t{1} << 20;

/// The file's text as a table: the one way into the TOML library. Throws Error (bad_input, with the line) for
/// what is no TOML, too large, or nested more deeply than any file needs.
[[nodiscard]] toml::table parsed_toml(std::string_view text, const std::string& file);

/// A table whose keys are asked for one by one; what is left over in the end is unknown. All that is refused
/// throws Error (bad_input) with file and line. Table and file name must outlive it.
class TomlTable {
 public:
  TomlTable(const toml::table& table, std::string path, const std::string& file);

  /// Nothing where the key is not there, in all of these.
  [[nodiscard]] std::optional<double> number(const char* key, double low, double high);
  [[nodiscard]] std::optional<int> whole(const char* key, int low, int high);
  [[nodiscard]] std::optional<bool> flag(const char* key);
  /// 1 to `most` bytes, without control characters.
  [[nodiscard]] std::optional<std::string> text(const char* key, std::size_t most);
  /// The place of the word among `choices`.
  [[nodiscard]] std::optional<std::size_t> choice(const char* key, const std::vector<std::string>& choices);
  [[nodiscard]] const toml::table* table(const char* key);
  /// Every entry of a list of tables.
  void each(const char* key, const std::function<void(TomlTable)>& use);

  void refuse_what_is_left() const;
  [[noreturn]] void refuse(const std::string& key, const toml::node& node,
                           const std::string& what_to_do) const;
  /// For a table that lacks its key: it may be there with a slip in its name.
  [[noreturn]] void refuse_without(const std::string& key, const std::string& example) const;
  [[nodiscard]] const toml::table& all() const { return table_; }
  /// "set.toml, line 12": where the key, or else the table, stands.
  [[nodiscard]] std::string where(const char* key) const;

 private:
  const toml::node* find(const char* key);
  [[noreturn]] void refuse_unknown(const toml::key& key, const std::string& what_to_do) const;
  [[noreturn]] void fail(const std::string& what, std::size_t line, const std::string& what_to_do) const;

  const toml::table& table_;
  std::string path_;
  const std::string& file_;
  std::vector<std::string> asked_;
};

}  // namespace burstloom
