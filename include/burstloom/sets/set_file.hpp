// SET.toml: the songs of an evening in order, their coil, their pauses. docs/reference/sets.md has the file.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

/// One song as the set has it. Paths are as the file has them, relative to it.
struct SetSong {
  std::string file;                  ///< MIDI or sound file
  std::string title;                 ///< empty: the file's own
  std::string arrangement;           ///< empty: none
  std::string how;                   ///< of listening or carrying, for sound files; empty: the default
  double transpose = 0;              ///< semitones, -60 to 60, of all notes but drums
  double gain_db = 0;                ///< -40 to 20, of all notes
  std::optional<int> voices;         ///< notes at once, 1 to 16; nothing: the profile's
  std::optional<int> snap;           ///< parts of a beat for notes heard in a recording, 1 to 16
  std::optional<double> carrier_hz;  ///< of the ways carrier and density, 100 to 100 000
  bool keep_silence = false;         ///< of a recording, at its ends
  std::optional<double> pause_s;     ///< silence after it, 0 to 86 400; nothing: the set's
  friend bool operator==(const SetSong&, const SetSong&) = default;
};

struct SetFile {
  std::string name;
  std::string coil;               ///< the profile, relative to the set's file
  std::optional<double> start_c;  ///< heatsink when the first song starts, -60 to 300; nothing: the profile's
  double pause_s = 10;            ///< silence after each song that says nothing else, 0 to 86 400
  std::vector<SetSong> songs;     ///< 1 to 100
  std::string file;               ///< its own name, for messages
  std::string folder;             ///< what paths are relative to; empty: the current one

  [[nodiscard]] double pause_after_s(std::size_t song) const { return songs[song].pause_s.value_or(pause_s); }
  /// The path of a file that the set names.
  [[nodiscard]] std::string path_of(const std::string& named) const;
};

/// Throws Error (bad_input with line number): no TOML, unknown key, value out of range, no song, no coil.
/// `folder` is what its paths are relative to.
[[nodiscard]] SetFile parse_set(std::string_view text, const std::string& name, const std::string& folder);
/// The same of a file, and the line of what names a file that is not there.
[[nodiscard]] SetFile read_set(const std::string& path);

/// The set as TOML, every pause written out; parses to the same set. `note` stands in a comment on top.
[[nodiscard]] std::string to_toml(const SetFile& set, const std::string& note);

}  // namespace burstloom
