// Who plays, how loud, in which octave: a score arranged for one spark. docs/reference/arrangement.md has the
// file.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom {

/// What an arrangement says of one channel or one track.
struct Line {
  int number = 0;  ///< channel 1 to 16, or track from 1 as in the file
  bool on = true;
  std::optional<Part> role;          ///< nothing: as the file has it, else guessed by weaving
  double transpose = 0;              ///< semitones, -60 to 60
  double gain_db = 0;                ///< -40 to 20; a note cannot be louder than the loudest
  std::optional<int> voices;         ///< notes at once, 1 to 16; what is over is left out, the outermost stay
  std::optional<Envelope> envelope;  ///< nothing: by the file's program changes
};

/// A song's arrangement. The default changes nothing.
struct Arrangement {
  double transpose = 0;                  ///< semitones, -60 to 60, of all notes but drums; lines add to it
  double gain_db = 0;                    ///< -40 to 20, of all notes; lines add to it
  double tempo_factor = 1;               ///< 0.25 to 4; 2 is twice as fast
  double start_s = 0;                    ///< in the file's own time; what sounds before is left out
  std::optional<double> end_s;           ///< after start_s
  double fade_in_s = 0, fade_out_s = 0;  ///< 0 to 60, in the time that is played
  std::vector<Line> channels, tracks;
  std::map<int, std::optional<int>> drums;  ///< General MIDI percussion key to another, or to none
};

/// Reads an arrangement. `name` is what messages call it. Throws Error (bad_input with line number): no TOML,
/// unknown key, value out of range, a channel or track twice.
[[nodiscard]] Arrangement parse_arrangement(std::string_view text, const std::string& name);
[[nodiscard]] Arrangement read_arrangement(const std::string& path);

/// One note as the arrangement's lines and drums have it, its time left alone; nothing where it is left out.
/// Allocates nothing.
[[nodiscard]] std::optional<Note> arranged_note(Note note, const Arrangement& arrangement);

/// The score as arranged: notes left out, moved, cut and timed anew, controllers' curves with them. What was
/// left out is told in its remarks.
[[nodiscard]] Score arranged(Score score, const Arrangement& arrangement);

/// What can be said of a channel before anything is decided.
struct ChannelSummary {
  int channel = 0;   ///< 1 to 16
  std::string name;  ///< of the track that has most of its notes; may be empty
  int program = -1;
  bool drums = false;
  std::int64_t notes = 0;
  double lowest = 0, highest = 0;        ///< keys
  double softest = 0, loudest = 0;       ///< velocity, 0 to 1
  double sounding_s = 0;                 ///< with one note at least
  double on_top_s = 0, at_bottom_s = 0;  ///< of all pitched notes that sound then
  int most_at_once = 0;
};
/// Channels that have notes, in order. `track_names` by track number, may be shorter.
[[nodiscard]] std::vector<ChannelSummary> summarise(const Score& score,
                                                    const std::vector<std::string>& track_names);
/// Which channels a first arrangement makes lead and bass: the one that is longest on top of all others, and,
/// of the rest, the one longest at the bottom; 0 where there is none.
struct Roles {
  int lead = 0, bass = 0;
};
[[nodiscard]] Roles suggested_roles(const std::vector<ChannelSummary>& channels);
/// A commented arrangement to edit, which parses.
[[nodiscard]] std::string suggest_arrangement(const Score& score,
                                              const std::vector<ChannelSummary>& channels);

/// The family of instruments of a General MIDI program (0 to 127), such as "piano"; "" for any other number.
[[nodiscard]] std::string family_of_program(int program);
/// The name of a General MIDI percussion key (35 to 81); "" for any other.
[[nodiscard]] std::string drum_of_key(int key);

}  // namespace burstloom
