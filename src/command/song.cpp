#include <algorithm>
#include <cctype>
#include <cmath>
#include <filesystem>
#include <string_view>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/listen/told_source.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/score/write_midi.hpp"
#include "command_line.hpp"
#include "song_text.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct SongOptions {
  std::string input, suggest, score;
  MidiOptions midi;
  bool json = false, keep_silence = false, all = false, force = false;
};

// As a shell takes it.
std::string in_shell(const std::string& name) {
  const std::string path = shown(name);
  const auto is_plain = [](unsigned char c) {
    return std::isalnum(c) != 0 || c >= 0x80 ||
           std::string_view("._-/+,").find(static_cast<char>(c)) != std::string_view::npos;
  };
  if (std::all_of(path.begin(), path.end(), is_plain)) return path;
  std::string quoted;
  for (const char c : path) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return "'" + quoted + "'";
}

// The commands that turn this song into a stream, each within a line of the terminal where names are short.
void print_next(const SongOptions& options) {
  const std::string stem = std::filesystem::path(options.input).stem().string();
  const std::string song = in_shell(options.input), out = in_shell(stem + ".burst");
  const std::string arrangement =
      in_shell(options.suggest.empty() ? stem + "-arrangement.toml" : options.suggest);
  print("next:\n");
  if (looks_like_sound(options.input))
    return print("  burstloom weave " + song + " --coil coil.toml --out " + out + "\n");
  if (options.suggest.empty()) print("  burstloom song " + song + " --suggest " + arrangement + "\n");
  print("  burstloom weave " + song + " --coil coil.toml \\\n    --arrangement " + arrangement + " --out " +
        out + "\n");
}

void describe_midi(const SongOptions& options) {
  const Bytes bytes = read_file(options.input, kLargestMidiFile);
  const MidiFile midi = parse_midi(bytes, printable(options.input, 200), options.midi);
  const Score score = score_of(midi, printable(std::filesystem::path(options.input).stem().string()));
  std::vector<std::string> names;
  for (const MidiTrack& track : midi.tracks) names.push_back(track.name);
  const auto channels = summarise(score, names);
  if (!options.suggest.empty())
    write_to_edit(options.suggest, suggest_arrangement(score, channels), options.force);
  if (options.json) return print_json(midi_json(midi, score, channels));
  print(midi_text(midi, score, channels, options.all));
  if (!options.suggest.empty()) print("written: " + shown(options.suggest) + "\n");
  print_next(options);
}

double decibels(double amplitude) {
  return 20 * std::log10(std::max(amplitude, 1e-10));
}

// What is heard in a recording, as a MIDI file to look at and to edit.
std::size_t write_heard(const SoundSource& sound, const std::string& title, const std::string& path,
                        bool force) {
  Score score = std::get<Score>(listen_notes(sound));
  score.title = title;
  const Bytes midi = to_midi(score);
  write_to_edit(path, {reinterpret_cast<const char*>(midi.data()), midi.size()}, force);
  return score.notes.size();
}

// The lowest and the highest pitch that is followed; nothing where there is none.
std::optional<std::pair<double, double>> pitch_range(const SoundSource& sound) {
  std::optional<std::pair<double, double>> range;
  const auto track = std::get<PitchTrack>(listen_follow(sound));
  for (const PitchPoint& point : track.points) {
    if (point.hz <= 0) continue;
    if (!range) range.emplace(point.hz, point.hz);
    range->first = std::min(range->first, point.hz);
    range->second = std::max(range->second, point.hz);
  }
  return range;
}

void describe_sound(const SongOptions& options) {
  Progress progress(options.score.empty() ? 2 : 3);
  const TellShare tell = [&](double share) { progress.share(share); };
  progress.next("reading the recording");
  const Recording recording(options.input, options.keep_silence, tell);
  const Raised raised(recording);
  const ScannedSound& file = recording.original();
  std::optional<std::size_t> notes;
  if (!options.score.empty()) {
    progress.next("listening to notes");
    notes = write_heard(ToldSource(recording, tell), file.title(), options.score, options.force);
  }
  progress.next("following the pitch");
  const auto range = pitch_range(ToldSource(raised, tell));
  progress.done();
  const double peak = decibels(file.figures().peak), rms = decibels(file.figures().rms);
  const auto loudness = file.loudness_lufs();
  if (options.json) {
    return print_json({{"kind", "sound"},
                       {"title", file.title()},
                       {"rate_hz", file.rate_hz()},
                       {"length_s", file.length_s()},
                       {"peak_dbfs", peak},
                       {"rms_dbfs", rms},
                       {"loudness_lufs", loudness ? Json(*loudness) : Json()},
                       {"silence_before_s", recording.left_out_before_s()},
                       {"silence_after_s", recording.left_out_after_s()},
                       {"lowest_hz", range ? Json(range->first) : Json()},
                       {"highest_hz", range ? Json(range->second) : Json()},
                       {"notes_heard", notes ? Json(*notes) : Json()},
                       {"remarks", recording.remarks()}});
  }
  print("\"" + printable(file.title()) + "\": sound at " + std::to_string(file.rate_hz()) + " Hz, " +
        song_length(file.length_s()) + "\n");
  print(table({{"level", "peak " + figure(peak) + " dBFS, mean " + figure(rms) + " dBFS" +
                             (loudness ? ", loudness " + figure(*loudness) + " LUFS" : "")},
               {"strongest pitch",
                range ? figure(range->first) + " to " + figure(range->second) + " Hz" : "none found"}}));
  for (const std::string& it : recording.remarks()) print("  " + it + "\n");
  if (notes)
    print("  " + grouped(static_cast<std::int64_t>(*notes)) +
          " notes heard\nwritten: " + shown(options.score) + "\n");
  print_next(options);
}

}  // namespace

void add_song(CLI::App& app, Answer& answer) {
  auto* command =
      app.add_subcommand("song", "What is in a song: channels, range, polyphony; or level and pitch");
  const auto options = std::make_shared<SongOptions>();
  command->add_option("INPUT", options->input, "MIDI or sound file")->required();
  command->add_flag("--salvage", options->midi.salvage,
                    "of a damaged MIDI file keep what stands before the damage");
  command->add_option("--suggest", options->suggest,
                      "write a first arrangement of a MIDI file, to edit (TOML)");
  command->add_option("--score", options->score, "write the notes heard in a recording as a MIDI file");
  command->add_flag("--keep-silence", options->keep_silence,
                    "keep the silence before a recording's first sound and after its last");
  command->add_flag("--all", options->all, "all that is known of a MIDI file, in long tables");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom song song.mid --suggest song-arrangement.toml");
  command->callback([options, &answer] {
    answer.exit_code = 0;
    require_inputs_kept({options->input}, {options->suggest, options->score});
    const bool sound = looks_like_sound(options->input);
    if (sound && !options->suggest.empty())
      throw Error(Fault::usage, "an arrangement is suggested for MIDI files only", "--suggest",
                  "give a MIDI file, or leave it out");
    if (!sound && !options->score.empty())
      throw Error(Fault::usage, "this is a MIDI file already", "--score",
                  "give a recording, or leave it out");
    sound ? describe_sound(*options) : describe_midi(*options);
  });
}

}  // namespace burstloom::command
