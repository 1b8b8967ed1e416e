#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/listen/told_source.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/score/write_midi.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct SongOptions {
  std::string input, suggest, score;
  MidiOptions midi;
  bool json = false, keep_silence = false, force = false;
};

// Seconds during which exactly that many notes sound, and more.
std::vector<double> polyphony_of(const Score& score) {
  std::vector<std::pair<double, int>> edges;
  for (const Note& note : score.notes) {
    if (note.part == Part::drums) continue;
    edges.emplace_back(note.start_s, 1);
    edges.emplace_back(note.end_s, -1);
  }
  std::sort(edges.begin(), edges.end());
  std::vector<double> seconds;
  std::size_t sounding = 0;
  double since = 0;
  for (const auto& [at, change] : edges) {
    if (seconds.size() <= sounding) seconds.resize(sounding + 1);
    seconds[sounding] += at - since;
    since = at;
    sounding = static_cast<std::size_t>(static_cast<int>(sounding) + change);
  }
  return seconds;
}

std::string hz(double key) {
  return figure(key_hz(key)) + " Hz";
}

// The most notes that sound at once in each stretch of ten seconds.
std::vector<int> polyphony_over_time(const Score& score) {
  constexpr double kStretch_s = 10;
  std::vector<int> most(static_cast<std::size_t>(score.length_s / kStretch_s) + 1, 0);
  std::vector<std::pair<double, int>> edges;
  for (const Note& note : score.notes) {
    if (note.part == Part::drums || !(note.end_s > note.start_s)) continue;
    edges.emplace_back(note.start_s, 1);
    edges.emplace_back(note.end_s, -1);
  }
  std::sort(edges.begin(), edges.end());
  int sounding = 0;
  std::size_t stretch = 0;
  for (const auto& [at_s, change] : edges) {
    for (const auto here = static_cast<std::size_t>(at_s / kStretch_s);
         stretch < std::min(here, most.size() - 1);)
      most[++stretch] = sounding;
    sounding += change;
    most[stretch] = std::max(most[stretch], sounding);
  }
  return most;
}

std::map<int, std::int64_t> drums_of(const Score& score) {
  std::map<int, std::int64_t> drums;
  for (const Note& note : score.notes)
    if (note.part == Part::drums) ++drums[static_cast<int>(note.key)];
  return drums;
}

Json channels_json(const std::vector<ChannelSummary>& channels) {
  const Roles roles = suggested_roles(channels);
  Json all = Json::array();
  for (const ChannelSummary& channel : channels)
    all.push_back({{"channel", channel.channel},
                   {"name", channel.name},
                   {"program", channel.program < 0 ? Json() : Json(channel.program)},
                   {"family", family_of_program(channel.program)},
                   {"role", channel.drums                   ? "drums"
                            : channel.channel == roles.lead ? "lead"
                            : channel.channel == roles.bass ? "bass"
                                                            : "inner"},
                   {"notes", channel.notes},
                   {"lowest_key", channel.lowest},
                   {"highest_key", channel.highest},
                   {"softest", channel.softest},
                   {"loudest", channel.loudest},
                   {"sounding_s", channel.sounding_s},
                   {"most_at_once", channel.most_at_once}});
  return all;
}

void print_midi_json(const MidiFile& midi, const Score& score, const std::vector<ChannelSummary>& channels) {
  Json drums = Json::array();
  for (const auto& [key, hits] : drums_of(score))
    drums.push_back({{"key", key}, {"name", drum_of_key(key)}, {"hits", hits}});
  print_json({{"kind", "midi"},
              {"title", score.title},
              {"format", midi.format},
              {"tracks", midi.tracks.size()},
              {"length_s", score.length_s},
              {"notes", score.notes.size()},
              {"channels", channels_json(channels)},
              {"drums", drums},
              {"polyphony_s", polyphony_of(score)},
              {"polyphony_per_10_s", polyphony_over_time(score)},
              {"remarks", score.remarks}});
}

std::vector<std::string> row_of(const ChannelSummary& channel, const Roles& roles) {
  const std::string velocities =
      figure(std::round(channel.softest * 127)) + " to " + figure(std::round(channel.loudest * 127));
  const std::string role = channel.drums                   ? "drums"
                           : channel.channel == roles.lead ? "lead?"
                           : channel.channel == roles.bass ? "bass?"
                                                           : "";
  return {std::to_string(channel.channel),
          printable(channel.name, 24),
          channel.drums ? "" : family_of_program(channel.program),
          grouped(channel.notes),
          channel.drums ? "" : hz(channel.lowest),
          channel.drums ? "" : hz(channel.highest),
          velocities,
          channel.drums ? "" : std::to_string(channel.most_at_once),
          role};
}

void print_midi(const MidiFile& midi, const Score& score, const std::vector<ChannelSummary>& channels) {
  print("\"" + printable(score.title) + "\": MIDI format " + std::to_string(midi.format) + ", " +
        std::to_string(midi.tracks.size()) + " tracks, " + song_length(score.length_s) + ", " +
        grouped(static_cast<std::int64_t>(score.notes.size())) + " notes\n");
  std::vector<std::vector<std::string>> rows = {
      {"channel", "name", "instrument", "notes", "lowest", "highest", "velocity", "at once", "role"}};
  const Roles roles = suggested_roles(channels);
  for (const ChannelSummary& channel : channels) rows.push_back(row_of(channel, roles));
  print(table(rows));
  rows = {{"sounding at once", "for"}};
  const auto polyphony = polyphony_of(score);
  for (std::size_t i = 0; i < polyphony.size(); ++i)
    if (polyphony[i] > 0.0005) rows.push_back({std::to_string(i), song_length(polyphony[i])});
  print(table(rows));
  std::string over_time;
  for (const int most : polyphony_over_time(score)) over_time += " " + std::to_string(most);
  print("  most at once, every ten seconds:" + over_time + "\n");
  rows = {{"drum", "key", "hits"}};
  for (const auto& [key, hits] : drums_of(score))
    rows.push_back({drum_of_key(key), std::to_string(key), grouped(hits)});
  if (rows.size() > 1) print(table(rows));
  for (const std::string& it : score.remarks) print("  " + it + "\n");
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
  if (options.json) return print_midi_json(midi, score, channels);
  print_midi(midi, score, channels);
  if (!options.suggest.empty()) print("written: " + shown(options.suggest) + "\n");
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
