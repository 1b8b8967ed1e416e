// Several songs one after the other with pauses, as export and send take them.
#pragma once

#include "command_line.hpp"

namespace burstloom::command {

/// The longest pause, and the longest rest that is looked for.
constexpr double kDay_s = 86'400;

/// A song with what it needs around it.
struct SongInARow {
  std::string path;
  JudgedInput input;
  Judgement judgement{};
  double rest_s = 0;   ///< after it, before it may be repeated
  double pause_s = 0;  ///< after it; at least that rest
  [[nodiscard]] const BurstStream& stream() const { return input.source.file.stream; }
  [[nodiscard]] const std::string& title() const { return input.source.file.title; }
};

/// Throws Error (usage) if `given`.
void refuse_if(bool given, const std::string& what, const std::string& what_to_do);

/// The rest that a judgement within limits asks for before a repeat, s. Throws Error (outside_limits, naming
/// `where`) where no day of it is enough.
[[nodiscard]] double required_rest(const Judgement& judgement, const std::string& where);

/// `song` judged; with its rest and a pause of at least that. Throws Error (outside_limits) unless it is
/// within its limits and has such a rest; `not_done`: "not sent".
void judge_for(SongInARow& song, const std::string& not_done);

/// Songs to be judged, with their pauses: `pauses_s` has one for all of them, or one after each (after the
/// last, too, or not). Throws Error (usage) for another number, for pauses that are none, and for profiles
/// that differ.
[[nodiscard]] std::vector<SongInARow> songs_in_a_row(const std::vector<std::string>& paths,
                                                     const CoilChoice& coil, const CaptureOptions& capture,
                                                     const std::vector<double>& pauses_s);

/// Judges all of them as one stream, pauses included: windows cross the seams, and the switches get warm.
/// Throws Error (outside_limits) unless it is within the limits.
[[nodiscard]] Judgement judge_in_a_row(const std::vector<SongInARow>& songs, const std::string& not_done);

/// The songs as one stream.
[[nodiscard]] BurstStream one_stream(const std::vector<SongInARow>& songs);

/// A line of words for each pause that became longer than was asked for.
[[nodiscard]] std::vector<std::string> lengthened_pauses(const std::vector<SongInARow>& songs,
                                                         const std::vector<double>& pauses_s);

}  // namespace burstloom::command
