// A stream as a voice table (docs/reference/table-format.md): what the voices want, and where the stream is
// not what the weaver makes of it.
#pragma once

#include <optional>

#include "burstloom/common/files.hpp"
#include "voice_program.hpp"
#include "wishes.hpp"

namespace burstloom::table_detail {

/// One voice's wishes as its program says them.
struct VoiceProgram {
  std::size_t bursts = 0;
  std::vector<TrainRun> trains;
  std::vector<OnRun> on_runs;
};

/// The programs of all voices that have wishes. Nothing where they cannot be said: more than 17 voices,
/// on-times over 65 535 ticks, or rests and rows of dropped bursts longer than a player allows.
[[nodiscard]] std::optional<std::vector<VoiceProgram>> voice_programs(const std::vector<Wish>& wishes);

/// For each wish: whether its voice has to be told how it goes on.
[[nodiscard]] std::vector<bool> tells_after(const std::vector<Wish>& wishes,
                                            const std::vector<VoiceProgram>& voices);

/// The data of the voice table that gives the stream to the tick; the smallest of those that differ in the
/// weaver's ways. `wishes` are the stream's and `voices` theirs. Nothing where it would not have fewer bytes
/// than `fewer_than`, or a reader would not give the stream.
[[nodiscard]] std::optional<Bytes> voice_data(const BurstStream& stream, const std::vector<Wish>& wishes,
                                              const std::vector<VoiceProgram>& voices,
                                              std::size_t fewer_than);

/// The shortest gap between two bursts; of one alone the longest that a player counts.
[[nodiscard]] Tick shortest_gap(const BurstStream& stream);

}  // namespace burstloom::table_detail
