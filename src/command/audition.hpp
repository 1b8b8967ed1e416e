// Trying all ways of listening on one recording and coil, before one is chosen.
#pragma once

#include "burstloom/weave/song.hpp"
#include "command_line.hpp"

namespace burstloom::command {

/// One way, tried.
struct Tried {
  std::string how;
  double likeness = 0;  ///< `chroma_likeness` of the bursts, read back, to the recording
  /// The bursts' notes, read back, against those heard in the recording: `note_scores`, `frame_scores`.
  double onset_f = 0, frame_f = 0;
  std::int64_t bursts = 0;
  std::optional<double> duty_percent{};  ///< worst, over the longest window
  std::optional<double> junction_c{};
  std::optional<std::int64_t> table_bytes{};  ///< on the first target
  std::string refused{};                      ///< why it cannot be done with this coil
};
[[nodiscard]] std::vector<Tried> audition(const SongRequest& request, const CoilRequest& coil);

struct Picked {
  std::string how;  ///< empty: none
  std::string why;
};
[[nodiscard]] Picked picked_of(const std::vector<Tried>& all);
[[nodiscard]] std::string describe(const std::vector<Tried>& all, const Picked& picked);
[[nodiscard]] Json audition_json(const std::vector<Tried>& all, const Picked& picked);

}  // namespace burstloom::command
