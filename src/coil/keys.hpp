// The declarations behind profile_keys(): each key with its range and the place it is stored in.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "burstloom/coil/profile.hpp"

namespace burstloom {

/// At most this many duty windows: the guard's ledger has one bit for each.
inline constexpr std::size_t kMostDutyEntries = 16;

enum class KeyKind { table, list, number, whole, flag, text, choice, numbers };

/// Numbers from `low` to `high`; `high` itself is allowed unless `below_high`.
/// Nothing that is not a finite number is inside.
struct Range {
  double low = 0, high = 0;
  bool below_high = false;

  [[nodiscard]] bool holds(double value) const {
    return value >= low && (below_high ? value < high : value <= high);
  }
  [[nodiscard]] std::string words() const;
};

/// A value as the file gave it: number, flag, text, several numbers; a choice is the index of its word;
/// nothing for tables and list entries.
using Given = std::variant<std::monostate, double, bool, std::string, std::vector<double>, std::size_t>;

struct Key {
  std::string path;
  KeyKind kind = KeyKind::table;
  std::string unit;
  Range range;
  std::size_t most = 1;  ///< entries of a list, numbers of an array, bytes of a text
  std::vector<std::string> choices;
  bool required = false;
  std::string fallback;
  std::string start;    ///< what `coil new` writes; empty: nothing, it stands in another key's line
  std::string example;  ///< of a key whose value `coil new` leaves open; it comments out all others
  std::string meaning;
  std::function<void(Profile&, const Given&)> store;

  [[nodiscard]] std::string allowed() const;
};

/// All keys in order of writing.
[[nodiscard]] const std::vector<Key>& all_keys();
/// The key of that path, or null.
[[nodiscard]] const Key* find_key(std::string_view path);
/// "limits.duty[].percent" is "percent" in "limits.duty[]"; the top of the file is "".
[[nodiscard]] std::string_view parent_of(std::string_view path);
[[nodiscard]] std::string_view last_part_of(std::string_view path);
/// A number as a person writes it: no more digits than it takes.
[[nodiscard]] std::string plain(double value);

}  // namespace burstloom
