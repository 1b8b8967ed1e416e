#include "song_line.hpp"

#include <type_traits>

#include "burstloom/common/error.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "keys.hpp"
#include "set_json.hpp"

namespace burstloom {
namespace {

// What a file holds, or that there is none.
std::string hash_of_file(const std::string& path) {
  return path.empty() ? "" : content_hash(read_file(path));
}

std::string key_of_inputs(const SetFile& set, const SetSong& song, const Profile& coil,
                          const std::string& made_by) {
  const auto or_none = [](const auto& value) { return value ? static_cast<double>(*value) : -1.0; };
  return KeyOf()
      .add(made_by)
      .add(coil.text)
      .add(hash_of_file(set.path_of(song.file)))
      .add(hash_of_file(set.path_of(song.arrangement)))
      .add(song.title)
      .add(song.how)
      .add(song.transpose)
      .add(song.gain_db)
      .add(or_none(song.voices))
      .add(or_none(song.snap))
      .add(or_none(song.carrier_hz))
      .add(song.keep_silence ? 1 : 0)
      .hash();
}

SongRequest request_of(const SetFile& set, const SetSong& song) {
  SongRequest request;
  request.input = set.path_of(song.file);
  request.arrangement = set.path_of(song.arrangement);
  request.how = song.how;
  request.carrier_hz = song.carrier_hz;
  request.snap = song.snap;
  request.keep_silence = song.keep_silence;
  request.transpose = song.transpose;
  request.gain_db = song.gain_db;
  return request;
}

std::string hash_of(const BurstStream& stream) {
  static_assert(std::has_unique_object_representations_v<Burst>);
  const auto* bursts = reinterpret_cast<const std::uint8_t*>(stream.bursts.data());
  return KeyOf()
      .add(std::to_string(stream.tick_hz))
      .add(std::to_string(stream.length))
      .add(content_hash({bursts, stream.bursts.size() * sizeof(Burst)}))
      .hash();
}

LedgerCounts counts_of(const Ledger& ledger) {
  return {ledger.wanted, ledger.count};
}

}  // namespace

std::string key_of_start(const std::string& key, const HeatStart& start) {
  return KeyOf().add(key).add(start.sink_c).add(start.case_c).hash();
}

SongLine::SongLine(const SetFile& set, const Profile& coil, const std::string& made_by, Workshop* workshop,
                   double longest_s)
    : set_(set), coil_(coil), made_by_(made_by), workshop_(workshop), longest_s_(longest_s) {
  for (const SetSong& song : set.songs) inputs_.push_back(key_of_inputs(set, song, coil, made_by));
}

WovenSong SongLine::woven_for(std::size_t song, const HeatStart& start) {
  const std::string key = key_of_start(inputs_[song], start);
  if (auto known = kept(key, set_.songs[song].file)) return std::move(*known);
  ++woven_;
  WovenSong woven = weave(song, start);
  woven.key = key;
  keep(woven);
  return woven;
}

Judgement SongLine::judged(const HeatStart& start, const BurstStream& stream, bool seek_rest) {
  const std::string judged_by = KeyOf().add(made_by_).add(coil_.text).add(seek_rest ? 1 : 0).hash();
  const std::string name = key_of_start(judged_by + hash_of(stream), start);
  if (const auto known = kept_judgement(name)) return *known;
  ++judged_;
  Judgement judgement =
      judge(stream, started_at(coil_, start.sink_c, start.case_c), {.seek_rest = seek_rest});
  keep_judgement(name, judgement);
  return judgement;
}

WovenSong SongLine::weave(std::size_t song, const HeatStart& start) const {
  const Profile profile = started_at(coil_, start.sink_c, start.case_c);
  const SetSong& given = set_.songs[song];
  const WeaveOptions options{.voices = given.voices.value_or(coil_.voices), .longest_s = longest_s_};
  Song read = std::move(songs_for(request_of(set_, given), {{&profile, options}}).front());
  if (!given.title.empty()) read.title = given.title;
  const Guarded guarded = place(std::move(read.wanted.bursts), profile, options.tick_hz, read.wanted.length);
  return {{}, burst_file_of(read, guarded, coil_), counts_of(guarded.ledger), std::move(read.remarks)};
}

// The words beside the stream are written last: a stream without them was not finished. What is damaged is
// made anew.
std::optional<WovenSong> SongLine::kept(const std::string& key, const std::string& name) const {
  if (workshop_ == nullptr) return std::nullopt;
  const auto words = workshop_->kept(key + ".json"), stream = workshop_->kept(key + ".burst");
  if (!words || !stream) return std::nullopt;
  try {
    const Json json = Json::parse(*words);
    return WovenSong{key, from_burst_file(*stream, name), json.at("ledger").get<LedgerCounts>(),
                     json.at("remarks").get<std::vector<std::string>>()};
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

void SongLine::keep(const WovenSong& song) {
  if (workshop_ == nullptr) return;
  workshop_->keep(song.key + ".burst", to_burst_file(song.file));
  const std::string words = text_of({{"ledger", song.ledger}, {"remarks", song.remarks}});
  workshop_->keep(song.key + ".json", {reinterpret_cast<const std::uint8_t*>(words.data()), words.size()});
}

std::optional<Judgement> SongLine::kept_judgement(const std::string& key) const {
  if (workshop_ == nullptr) return std::nullopt;
  const auto bytes = workshop_->kept(key + ".verdict.json");
  if (!bytes) return std::nullopt;
  try {
    return Json::parse(*bytes).get<Judgement>();
  } catch (const std::exception&) {
    return std::nullopt;
  }
}

void SongLine::keep_judgement(const std::string& key, const Judgement& judgement) {
  if (workshop_ == nullptr) return;
  const std::string text = text_of(judgement);
  workshop_->keep(key + ".verdict.json", {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

}  // namespace burstloom
