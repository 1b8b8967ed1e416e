// Exported projects on the test's bench: written, compiled with their own Makefile, played, compared.
#pragma once

#include <string>
#include <vector>

#include "burstloom/tables/tables.hpp"
#include "simulate.hpp"

namespace avr_check {

/// A profile whose limits let `stream` through: on-time and gap limits just at its extremes.
[[nodiscard]] burstloom::Profile profile_around(const burstloom::BurstStream& stream);
[[nodiscard]] burstloom::TableInput input_of(burstloom::BurstStream stream);
[[nodiscard]] const burstloom::Target& atmega();

/// A folder of its own below the build folder, emptied.
[[nodiscard]] std::string fresh_folder(const std::string& name);
/// Output of a shell command on both streams; throws std::runtime_error with it when the command fails.
std::string shell(const std::string& command);

/// Writes the files, runs make with `make_words`, gives the ELF's path.
[[nodiscard]] std::string build(const std::string& name, const std::vector<burstloom::FolderFile>& files,
                                const std::string& make_words = "");
/// The same for a stream.
[[nodiscard]] std::string build(const std::string& name, const burstloom::BurstStream& stream,
                                const std::string& make_words = "");

/// Armed, and played to the end of the song.
[[nodiscard]] Options for_stream(const burstloom::BurstStream& stream);

/// simavr handles a compare match between two instructions: an edge shows up to three cycles late, under half
/// a tick.
inline constexpr std::int64_t kSimavrLateness = 3;

/// The edges at the ticks of the timer that made them: all lie kSimavrLateness or less behind one. Throws
/// std::runtime_error where they do not.
[[nodiscard]] std::vector<Edge> at_their_ticks(std::vector<Edge> edges);

/// A capture in cycles.
struct Pulse {
  std::int64_t rise = 0, fall = 0;
};
/// The gate's pulses. Throws std::runtime_error when it ends high.
[[nodiscard]] std::vector<Pulse> pulses(const std::vector<Edge>& edges);

/// The gate's edges from a file of lines `cycle,level` or `cycle,gate,level`, after a heading.
[[nodiscard]] std::vector<Edge> read_edges(const std::string& path);

/// Bursts of the stream that are not among the pulses, when every pulse lies where one burst does, to within
/// `tolerance` cycles in rise and fall, with the same offset for all. Throws std::runtime_error for a pulse
/// that is no burst. The offset is the one at which the first pulse is burst number `first`.
[[nodiscard]] std::vector<std::size_t> absent_bursts(const std::vector<Pulse>& pulses,
                                                     const burstloom::BurstStream& stream,
                                                     std::int64_t tolerance = 0, std::size_t first = 0,
                                                     std::int64_t cycles_per_tick = kCyclesPerTick);

/// Streams of several kinds, the same in every run.
[[nodiscard]] burstloom::BurstStream four_bursts();
[[nodiscard]] burstloom::BurstStream song_like(std::size_t bursts, unsigned seed);
[[nodiscard]] burstloom::BurstStream long_rests();
/// Two voices that meet now and then, with the account that says so: enough bursts for a table of voices.
[[nodiscard]] burstloom::TableInput two_voices(int bursts);
[[nodiscard]] burstloom::BurstStream neighbours(burstloom::Tick on, burstloom::Tick gap, std::size_t bursts);

/// A set of these songs, all under limits that let each through, with such pauses after them.
[[nodiscard]] std::vector<burstloom::ImageSong> set_of(std::vector<burstloom::TableInput> songs,
                                                     double pause_s);
/// What the pin did as the songs of a set, one after the other: their pulses, and the silences between them
/// in seconds. Throws std::runtime_error unless there are as many pulses as bursts.
struct PlayedSet {
  std::vector<std::vector<Pulse>> songs;
  std::vector<double> pauses_s;
};
[[nodiscard]] PlayedSet played_set(const std::vector<Pulse>& all,
                                   const std::vector<burstloom::ImageSong>& songs, std::int64_t clock_hz);

}  // namespace avr_check
