// Trying all ways of listening on one recording and coil.
#include "audition.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/likeness.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/listen/transcription_score.hpp"
#include "burstloom/preview/plain_tones.hpp"
#include "burstloom/tables/tables.hpp"
#include "burstloom/weave/carry.hpp"

namespace burstloom::command {
namespace {

constexpr double kAsGood = 0.02;  // likenesses closer than this count as the same; our own choice

std::optional<double> worst_of(const Judgement& judgement, const std::string& start) {
  std::optional<double> worst;
  for (const LimitResult& limit : judgement.limits)
    if (limit.limit.rfind(start, 0) == 0) worst = limit.worst;
  return worst;
}

// What the bursts are held against.
struct Original {
  const Recording& recording;
  std::vector<Note> notes;
};

Tried tried(const std::string& how, const SongRequest& request, const CoilRequest& coil,
            const Original& original) {
  Tried result{.how = how};
  try {
    SongRequest this_way = request;
    this_way.how = how;
    Song song = std::move(songs_for(this_way, {coil}).front());
    const Guarded guarded =
        place(std::move(song.wanted.bursts), *coil.profile, coil.weave.tick_hz, song.wanted.length);
    const Judgement judgement = judge(guarded.stream, *coil.profile);
    result.bursts = static_cast<std::int64_t>(guarded.stream.bursts.size());
    const Sound sound = burst_tones(guarded.stream);
    const HeldSound played(sound);
    result.likeness = chroma_likeness(original.recording, played);
    const std::vector<Note> heard = pitched(std::get<Score>(listen_notes(played)));
    result.onset_f = note_scores(original.notes, heard).f;
    result.frame_f = frame_scores(original.notes, heard, original.recording.length_s()).f;
    result.duty_percent = worst_of(judgement, "duty ");
    result.junction_c = worst_of(judgement, "junction");
    const TableInput table{guarded.stream, song.title, *coil.profile,
                           judgement.rest_before_repeat_s.value_or(0)};
    result.table_bytes = fit_of(table, targets().front()).table_bytes;
  } catch (const Error& refused) {
    result.refused = refused.what();
  }
  return result;
}

}  // namespace

std::vector<Tried> audition(const SongRequest& request, const CoilRequest& coil) {
  const Recording recording(request.input, request.keep_silence);
  const Original original{recording, pitched(std::get<Score>(listen_notes(recording)))};
  std::vector<std::string> names;
  for (const WayOfListening& way : ways_of_listening()) names.emplace_back(way.name);
  for (const WayOfCarrying& way : ways_of_carrying()) names.emplace_back(way.name);
  std::vector<Tried> all;
  for (const std::string& name : names) all.push_back(tried(name, request, coil, original));
  return all;
}

Picked picked_of(const std::vector<Tried>& all) {
  const auto better = [](const Tried& a, const Tried& b) { return a.likeness < b.likeness; };
  const auto best = std::max_element(all.begin(), all.end(), better);
  if (best == all.end() || best->bursts == 0) return {"", "no way of listening finds anything to play"};
  // Of those as good as the best, the one with the fewest bursts heats least.
  const Tried* least = &*best;
  for (const Tried& it : all)
    if (it.bursts > 0 && it.likeness >= best->likeness - kAsGood && it.bursts < least->bursts) least = &it;
  return {least->how, least == &*best
                          ? "it is most like the recording"
                          : "it is as like the recording as " + best->how + ", with fewer bursts"};
}

std::string describe(const std::vector<Tried>& all, const Picked& picked) {
  std::vector<std::vector<std::string>> rows = {
      {"--how", "likeness", "onset F", "frame F", "bursts", "duty", "junction", "table", ""}};
  for (const Tried& it : all) {
    if (it.bursts == 0) {
      rows.push_back(
          {it.how, "", "", "", "", "", "", "", it.refused.empty() ? "nothing to play" : it.refused});
      continue;
    }
    const auto hundredths = [](double value) {
      char text[16];
      std::snprintf(text, sizeof text, "%.2f", value);
      return std::string(text);
    };
    rows.push_back({it.how, hundredths(it.likeness), hundredths(it.onset_f), hundredths(it.frame_f),
                    grouped(it.bursts), it.duty_percent ? figure(*it.duty_percent) + " %" : "",
                    it.junction_c ? figure(*it.junction_c) + " °C" : "",
                    it.table_bytes ? grouped(*it.table_bytes) + " bytes" : "",
                    it.how == picked.how ? "picked" : ""});
  }
  return table(rows) + "  " + (picked.how.empty() ? picked.why : picked.how + " is picked: " + picked.why) +
         "\n";
}

Json audition_json(const std::vector<Tried>& all, const Picked& picked) {
  Json ways = Json::array();
  for (const Tried& it : all)
    ways.push_back({{"how", it.how},
                    {"likeness", it.likeness},
                    {"onset_f", it.onset_f},
                    {"frame_f", it.frame_f},
                    {"bursts", it.bursts},
                    {"duty_percent", it.duty_percent ? Json(*it.duty_percent) : Json()},
                    {"junction_c", it.junction_c ? Json(*it.junction_c) : Json()},
                    {"table_bytes", it.table_bytes ? Json(*it.table_bytes) : Json()},
                    {"refused", it.refused}});
  return {{"ways", ways}, {"picked", picked.how}, {"why", picked.why}};
}

}  // namespace burstloom::command
