#include "in_a_row.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/check/verdict_words.hpp"
#include "burstloom/coil/limits_line.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/stream/one_stream.hpp"

namespace burstloom::command {
namespace {

// The pause after song `i`, as asked for.
double pause_after(std::size_t i, const std::vector<double>& pauses_s) {
  if (pauses_s.size() == 1) return pauses_s.front();
  return i < pauses_s.size() ? pauses_s[i] : 0;
}

void require_pauses(std::size_t songs, const std::vector<double>& pauses_s) {
  const std::size_t given = pauses_s.size();
  if (given > 1 && given != songs && given != songs - 1)
    throw Error(Fault::usage, std::to_string(given) + " pauses for " + std::to_string(songs) + " songs",
                "--pause", "give one for all, or one between each two songs");
  for (const double pause_s : pauses_s)
    if (!(pause_s >= 0 && pause_s <= kDay_s))
      throw Error(Fault::usage, "a pause of " + figure(pause_s) + " s", "--pause",
                  "give seconds from 0 to " + figure(kDay_s));
}

void require_same_profile(const std::vector<SongInARow>& songs) {
  for (const SongInARow& song : songs)
    if (!is_same_coil(song.input.coil.profile, songs.front().input.coil.profile))
      throw Error(Fault::usage,
                  "this song was woven for another coil profile (" + printable(song.input.coil.profile.name) +
                      ") than " + printable(songs.front().path, 200) + " (" +
                      printable(songs.front().input.coil.profile.name) + ")",
                  printable(song.path, 200),
                  "weave all songs for one profile, or name one for all with --coil");
}

}  // namespace

void refuse_if(bool given, const std::string& what, const std::string& what_to_do) {
  if (given) throw Error(Fault::usage, what, "", what_to_do);
}

double required_rest(const Judgement& judgement, const std::string& where) {
  if (judgement.rest_before_repeat_s) return *judgement.rest_before_repeat_s;
  throw Error(Fault::outside_limits, "no day of rest is enough before this may start again", where,
              "weave it quieter, or for a start no cooler than the air");
}

void judge_for(SongInARow& song, const std::string& not_done) {
  song.judgement = judge_as_command(song.input);
  const ChosenCoil& coil = song.input.coil;
  if (song.judgement.verdict != Verdict::within_limits)
    throw Error(
        Fault::outside_limits,
        "this stream is " + not_done + ", judged by the limits from " + source_of(coil) + ": " +
            verdict_words(song.judgement),
        printable(song.path, 200),
        coil.woven_for_another
            ? "it was woven for another coil: weave the song for this one, or name the coil that it is "
              "for with --coil"
            : "weave the song for this coil, or see all of it with burstloom check");
  song.rest_s = required_rest(song.judgement, printable(song.path, 200));
  song.pause_s = std::max(song.pause_s, song.rest_s);
}

std::vector<SongInARow> songs_in_a_row(const std::vector<std::string>& paths, const CoilChoice& coil,
                                       const CaptureOptions& capture, const std::vector<double>& pauses_s) {
  require_pauses(paths.size(), pauses_s);
  std::vector<SongInARow> songs;
  for (std::size_t i = 0; i < paths.size(); ++i)
    songs.push_back({.path = paths[i],
                     .input = read_judged_input(paths[i], coil, capture),
                     .pause_s = pause_after(i, pauses_s)});
  require_same_profile(songs);
  return songs;
}

BurstStream one_stream(const std::vector<SongInARow>& songs) {
  std::vector<const BurstStream*> streams;
  std::vector<Tick> pauses;
  for (const SongInARow& song : songs) {
    if (song.stream().tick_hz != songs.front().stream().tick_hz)
      throw Error(Fault::usage,
                  "this song has " + std::to_string(song.stream().tick_hz) +
                      " ticks a second, the first one " + std::to_string(songs.front().stream().tick_hz),
                  printable(song.path, 200), "weave all songs with one --tick-hz");
    streams.push_back(&song.stream());
    pauses.push_back(nearest_tick(song.pause_s, song.stream().tick_hz));
  }
  return one_stream(streams, pauses);
}

Judgement judge_in_a_row(const std::vector<SongInARow>& songs, const std::string& not_done) {
  Judgement judgement = judge(one_stream(songs), songs.front().input.coil.profile);
  if (judgement.verdict != Verdict::within_limits)
    throw Error(Fault::outside_limits,
                "one after the other these songs are " + not_done + ": " + verdict_words(judgement), "",
                "lengthen the pause before that moment with --pause");
  return judgement;
}

std::vector<std::string> lengthened_pauses(const std::vector<SongInARow>& songs,
                                           const std::vector<double>& pauses_s) {
  std::vector<std::string> said;
  for (std::size_t i = 0; i + 1 < songs.size(); ++i) {
    const double asked_s = pause_after(i, pauses_s);
    if (songs[i].pause_s > asked_s)
      said.push_back("the pause after " + printable(songs[i].path, 200) + " is " + figure(songs[i].pause_s) +
                     " s, not " + figure(asked_s) + " s: so long is its shortest rest");
  }
  return said;
}

}  // namespace burstloom::command
