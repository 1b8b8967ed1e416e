#include "weave_live.hpp"

#include "burstloom/common/error.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/live/replay.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "terminal.hpp"

namespace burstloom::command {

void weave_live(const SongRequest& song, const std::string& coil, const std::string& out, WeaveOptions weave,
                std::optional<int> voices, bool as_json, Answer& answer) {
  const std::string where = printable(song.input, 200);
  if (looks_like_sound(song.input))
    throw Error(Fault::usage, "a recording cannot be played live", where, "give a MIDI file with --live");
  const ChosenCoil chosen = named_coil(coil);
  const Profile& profile = chosen.profile;
  weave.voices = voices.value_or(profile.voices);
  LiveOptions options{weave, {}};
  if (!song.arrangement.empty()) options.arrangement = read_arrangement(song.arrangement);
  const Bytes bytes = read_file(song.input, kLargestMidiFile);
  const MidiFile midi = parse_midi(bytes, where, song.midi);
  const Score score = score_of(midi, where);
  const LiveRecording played = played_live(messages_of(midi), score.length_s, profile, options);
  const BurstFile file = played.stream(score.title);
  Judgement judgement = judge(file.stream, profile);
  judgement.remarks.insert(judgement.remarks.end(), chosen.remarks.begin(), chosen.remarks.end());
  require_own_check(judgement, song.input);
  write_file(out, to_burst_file(file));
  answer.exit_code = 0;
  if (as_json) {
    Json json = to_json(judgement, file.stream);
    json["judged_by"] = to_json(chosen);
    json["out"] = out;
    return print_json(json);
  }
  print("\"" + printable(score.title) + "\" for \"" + profile.name +
        "\", as played live: " + grouped(static_cast<std::int64_t>(file.stream.bursts.size())) +
        " bursts in " + song_length(file.stream.seconds(file.stream.length)) + "\n" + one_line(judgement) +
        "\n  " + limits_line(chosen) + "\n" + describe(judgement) + "written: " + shown(out) + "\n");
}

}  // namespace burstloom::command
