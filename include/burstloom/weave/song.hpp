// From a file to what it wants of a coil.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom {

/// Who is told how far reading and listening have come; either may be empty. `step` gets a name that lives
/// on.
struct TellProgress {
  std::function<void(const char* name)> step;
  std::function<void(double share)> share;  ///< 0 to 1
};

/// What is said of a song and how to read it.
struct SongRequest {
  std::string input, how, arrangement;
  std::vector<std::string> plays;  ///< one for each coil where there are several, else empty
  std::optional<double> carrier_hz;
  std::optional<int> snap;    ///< parts of a beat that notes heard are brought onto
  bool keep_silence = false;  ///< of a recording, at its ends
  MidiOptions midi;
  double transpose = 0, gain_db = 0;  ///< of all notes, as in an arrangement's [song]
  TellProgress tell;
};

/// A coil and how it is woven for.
struct CoilRequest {
  const Profile* profile;
  WeaveOptions weave;
};

struct Song {
  Wanted wanted;
  std::string title;
  std::vector<std::string> remarks;
  std::optional<Score> score;  ///< of MIDI files, and of ways of listening that hear notes
};

/// The song for each coil, in order. Several coils share out the notes of one score. Throws Error: usage
/// where a name is not known or a recording without notes is to be shared out; and what reading throws.
[[nodiscard]] std::vector<Song> songs_for(const SongRequest& request, const std::vector<CoilRequest>& coils);

}  // namespace burstloom
