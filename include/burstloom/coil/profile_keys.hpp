// What may stand in a profile, key by key. One declaration serves the reader, `coil new` and the documents.
#pragma once

#include <string>
#include <vector>

namespace burstloom {

/// One key, table or list of a profile, for people.
struct ProfileKey {
  std::string path;       ///< "drive.bus_v"; a list's entries have "[]": "limits.duty[].window_ms"
  std::string meaning;    ///< one line
  std::string unit;       ///< "us", "%"; empty where there is none
  std::string allowed;    ///< "above 0, at most 100"; the words of a choice; empty for tables
  std::string fallback;   ///< what holds when the key is not given; empty where nothing does
  bool required = false;  ///< must be given where its table is
};

/// All keys, in the order in which a profile is written.
[[nodiscard]] std::vector<ProfileKey> profile_keys();

}  // namespace burstloom
