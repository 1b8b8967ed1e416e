#include "burstloom/weave/song.hpp"

#include <algorithm>
#include <sstream>

#include "burstloom/common/error.hpp"
#include "burstloom/common/nearest.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/listen/beats.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/listen/told_source.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/weave/carry.hpp"
#include "burstloom/weave/coils.hpp"

#ifdef __GLIBC__
#include <malloc.h>
#endif

namespace burstloom {
namespace {

// What listening freed lies in small pieces, of which the system would get none back.
void give_memory_back() {
#ifdef __GLIBC__
  malloc_trim(0);
#endif
}

Score as_arranged(Score score, const SongRequest& request) {
  Arrangement arrangement;
  if (!request.arrangement.empty())
    arrangement = read_arrangement(request.arrangement);
  else if (request.transpose == 0 && request.gain_db == 0)
    return score;
  arrangement.transpose += request.transpose;
  arrangement.gain_db += request.gain_db;
  return arranged(std::move(score), arrangement);
}

const WayOfListening& way_named(const std::string& name) {
  if (name.empty()) return ways_of_listening().front();
  std::vector<std::string> known;
  for (const WayOfListening& way : ways_of_listening()) {
    if (name == way.name) return way;
    known.emplace_back(way.name);
  }
  for (const WayOfCarrying& way : ways_of_carrying()) known.emplace_back(way.name);
  throw Error(Fault::usage, "there is no way of listening called \"" + printable(name) + "\"", "--how",
              did_you_mean(name, known, "choose one of: " + listed(known)));
}

void require_nothing_arranged(const SongRequest& request, const char* what, const char* name) {
  if (request.arrangement.empty() && request.transpose == 0 && request.gain_db == 0) return;
  throw Error(Fault::usage, std::string("the way of ") + what + " \"" + name + "\" hears no notes to arrange",
              request.arrangement.empty() ? "gain and transposition" : "--arrangement",
              "leave it out, or choose a --how that hears notes");
}

const WayOfCarrying* carrying_named(const std::string& name) {
  for (const WayOfCarrying& way : ways_of_carrying())
    if (name == way.name) return &way;
  return nullptr;
}

Song carried_sound(const WayOfCarrying& way, const Sound& sound, const SongRequest& request,
                   const CoilRequest& coil) {
  Carried carried = way.carry(sound, *coil.profile, coil.weave, request.carrier_hz);
  Song song{std::move(carried.wanted), sound.title, sound.remarks, {}};
  const Carrier& carrier = carried.carrier;
  song.remarks.push_back(std::string("carried by way of \"") + way.name + "\" at " + figure(carrier.rate_hz) +
                         " Hz, on-times from " + figure(carrier.shortest_us) + " to " +
                         figure(carrier.longest_us) + " µs: what the limits leave keeps the sound up to " +
                         figure(carrier.bandwidth_hz) + " Hz");
  return song;
}

// A song that is notes, for one coil.
Song of_score(Score score, const CoilRequest& coil) {
  Wanted wanted = wanted_from_score(score, *coil.profile, coil.weave);
  return {std::move(wanted), score.title, score.remarks, std::move(score)};
}

Score on_the_beat(Score score, int parts, std::vector<std::string>& remarks) {
  const auto beats = beats_of(score);
  if (!beats) {
    remarks.push_back("no steady beat was found: nothing is snapped to it");
    return score;
  }
  remarks.push_back("snapped to a beat of " + figure(beats->a_minute()) + " a minute");
  return snapped(std::move(score), *beats, parts);
}

// What a recording is heard as; a score is arranged already.
struct Listened {
  Heard heard;
  std::string title;
  std::vector<std::string> remarks;
  double length_s = 0;
};

TellShare told_by(const SongRequest& request) {
  if (request.tell.step) request.tell.step("reading the recording");
  return request.tell.share;
}

Heard heard_by(const WayOfListening& way, const SoundSource& sound, const SongRequest& request) {
  if (request.tell.step) request.tell.step("listening");
  return request.tell.share ? way.listen(ToldSource(sound, request.tell.share)) : way.listen(sound);
}

Listened listened_to(const SongRequest& request, const WayOfListening& way, double longest_s) {
  const Recording recording(request.input, request.keep_silence, told_by(request));
  require_within_ceiling(recording.length_s(), 0, longest_s);
  const Raised raised(recording);
  Listened listened{way.has_gates ? heard_by(way, raised, request) : heard_by(way, recording, request),
                    recording.original().title(), recording.remarks(), recording.length_s()};
  if (way.has_gates && raised.raised_db() > 0)
    listened.remarks.push_back("a soft recording: raised by " + figure(raised.raised_db()) + " dB");
  listened.remarks.push_back(std::string("listened by way of \"") + way.name + "\"");
  if (auto* score = std::get_if<Score>(&listened.heard)) {
    if (request.snap) *score = on_the_beat(std::move(*score), *request.snap, listened.remarks);
    *score = as_arranged(std::move(*score), request);
    score->title = listened.title;
    score->remarks.insert(score->remarks.begin(), listened.remarks.begin(), listened.remarks.end());
  } else {
    require_nothing_arranged(request, "listening", way.name);
  }
  return listened;
}

Song of_sound(const SongRequest& request, const CoilRequest& coil) {
  if (const WayOfCarrying* way = carrying_named(request.how)) {
    require_nothing_arranged(request, "carrying", way->name);
    const Recording recording(request.input, request.keep_silence, told_by(request));
    require_within_ceiling(recording.length_s(), 0, coil.weave.longest_s);
    return carried_sound(*way, held(recording), request, coil);
  }
  Listened listened = listened_to(request, way_named(request.how), coil.weave.longest_s);
  give_memory_back();
  if (auto* score = std::get_if<Score>(&listened.heard)) return of_score(std::move(*score), coil);
  Song song{{}, listened.title, listened.remarks, {}};
  if (const auto* moments = std::get_if<Moments>(&listened.heard))
    song.wanted = wanted_from_moments(*moments, listened.length_s, *coil.profile, coil.weave);
  else
    song.wanted =
        wanted_from_track(std::get<PitchTrack>(listened.heard), listened.length_s, *coil.profile, coil.weave);
  return song;
}

Score score_in(const SongRequest& request, double longest_s) {
  if (!looks_like_sound(request.input))
    return as_arranged(read_midi_score(request.input, request.midi), request);
  if (carrying_named(request.how) == nullptr) {
    Listened listened = listened_to(request, way_named(request.how), longest_s);
    if (auto* score = std::get_if<Score>(&listened.heard)) return std::move(*score);
  }
  throw Error(Fault::usage, "only notes can be shared out among several coils", printable(request.input, 200),
              "give a MIDI file, a --how that hears notes, or one coil");
}

// "lead,3": words of parts and numbers of channels; "rest" names nobody and so takes what is left.
CoilShare share_of(const std::string& words) {
  constexpr std::pair<const char*, Part> kParts[] = {
      {"lead", Part::lead}, {"bass", Part::bass}, {"inner", Part::inner}, {"drums", Part::drums}};
  CoilShare share;
  std::istringstream list(words);
  for (std::string word; std::getline(list, word, ',');) {
    if (word == "rest") continue;
    const auto* part =
        std::find_if(std::begin(kParts), std::end(kParts), [&](const auto& it) { return word == it.first; });
    if (part != std::end(kParts)) {
      share.parts.push_back(part->second);
      continue;
    }
    const bool digits =
        !word.empty() && word.size() <= 2 && word.find_first_not_of("0123456789") == std::string::npos;
    const int channel = digits ? std::stoi(word) : 0;
    if (channel < 1 || channel > 16)
      throw Error(Fault::usage, "\"" + printable(word) + "\" is nothing that a coil can play", "--plays",
                  "give lead, bass, inner, drums, channels 1 to 16, or rest, with commas between");
    share.channels.push_back(channel - 1);
  }
  return share;
}

std::vector<Song> woven_for(const SongRequest& request, const std::vector<CoilRequest>& coils) {
  std::vector<Song> songs;
  if (coils.size() == 1 && looks_like_sound(request.input)) {
    songs.push_back(of_sound(request, coils.front()));
  } else if (coils.size() == 1) {
    songs.push_back(of_score(score_in(request, coils.front().weave.longest_s), coils.front()));
  } else {
    std::vector<CoilShare> shares;
    for (const std::string& words : request.plays) shares.push_back(share_of(words));
    std::vector<Score> scores = split_for_coils(score_in(request, coils.front().weave.longest_s), shares);
    for (std::size_t i = 0; i < coils.size(); ++i) songs.push_back(of_score(std::move(scores[i]), coils[i]));
  }
  return songs;
}

}  // namespace

// What is refused of a song without its place is so for the song as a whole.
std::vector<Song> songs_for(const SongRequest& request, const std::vector<CoilRequest>& coils) {
  try {
    return woven_for(request, coils);
  } catch (const Error& error) {
    if (!error.where().empty()) throw;
    throw Error(error.fault(), error.problem(), printable(request.input, 200), error.what_to_do());
  }
}

}  // namespace burstloom
