#include <algorithm>
#include <cmath>
#include <map>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/score/midi.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct SongOptions {
  std::string input;
  MidiOptions midi;
  bool json = false;
};

struct ChannelSummary {
  std::int64_t notes = 0;
  double lowest = 1e9, highest = -1e9, softest = 1, loudest = 0;
};

std::map<int, ChannelSummary> channels_of(const Score& score) {
  std::map<int, ChannelSummary> channels;
  for (const Note& note : score.notes) {
    ChannelSummary& channel = channels[note.channel + 1];
    ++channel.notes;
    channel.lowest = std::min(channel.lowest, note.key);
    channel.highest = std::max(channel.highest, note.key);
    channel.softest = std::min(channel.softest, note.velocity);
    channel.loudest = std::max(channel.loudest, note.velocity);
  }
  return channels;
}

// Seconds during which exactly that many notes sound, and more.
std::vector<double> polyphony_of(const Score& score) {
  std::vector<std::pair<double, int>> edges;
  for (const Note& note : score.notes) {
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

void describe_midi(const SongOptions& options) {
  const Bytes bytes = read_file(options.input);
  const MidiFile midi = parse_midi(bytes, printable(options.input, 200), options.midi);
  const Score score = read_midi_score(options.input, options.midi);
  const auto channels = channels_of(score);
  const auto polyphony = polyphony_of(score);
  if (options.json) {
    Json json = {{"kind", "midi"},
                 {"title", score.title},
                 {"format", midi.format},
                 {"tracks", midi.tracks.size()},
                 {"length_s", score.length_s},
                 {"notes", score.notes.size()},
                 {"percussion_ignored", score.percussion_ignored},
                 {"channels", Json::array()},
                 {"polyphony_s", polyphony},
                 {"remarks", score.remarks}};
    for (const auto& [number, channel] : channels)
      json["channels"].push_back({{"channel", number},
                                  {"notes", channel.notes},
                                  {"lowest_key", channel.lowest},
                                  {"highest_key", channel.highest},
                                  {"softest", channel.softest},
                                  {"loudest", channel.loudest}});
    return print_json(json);
  }
  print("\"" + printable(score.title) + "\": MIDI format " + std::to_string(midi.format) + ", " +
        std::to_string(midi.tracks.size()) + " tracks, " + clock_time(score.length_s) + ", " +
        grouped(static_cast<std::int64_t>(score.notes.size())) + " notes\n");
  std::vector<std::vector<std::string>> rows = {{"channel", "notes", "lowest", "highest", "velocity"}};
  for (const auto& [number, channel] : channels)
    rows.push_back(
        {std::to_string(number), grouped(channel.notes), hz(channel.lowest), hz(channel.highest),
         figure(std::round(channel.softest * 127)) + " to " + figure(std::round(channel.loudest * 127))});
  print(table(rows));
  rows = {{"sounding at once", "for"}};
  for (std::size_t i = 0; i < polyphony.size(); ++i)
    if (polyphony[i] > 0.0005) rows.push_back({std::to_string(i), clock_time(polyphony[i])});
  print(table(rows));
  if (score.percussion_ignored > 0)
    print("  " + grouped(score.percussion_ignored) + " percussion notes (channel 10), not played for now\n");
  for (const std::string& it : score.remarks) print("  " + it + "\n");
}

double decibels(double amplitude) {
  return 20 * std::log10(std::max(amplitude, 1e-10));
}

void describe_sound(const SongOptions& options) {
  const Sound sound = read_sound(options.input);
  double peak = 0, energy = 0;
  for (const float sample : sound.samples) {
    peak = std::max(peak, std::abs(static_cast<double>(sample)));
    energy += static_cast<double>(sample) * static_cast<double>(sample);
  }
  const double rms = std::sqrt(energy / static_cast<double>(std::max<std::size_t>(1, sound.samples.size())));
  const auto track = std::get<PitchTrack>(listen_follow(sound));
  std::vector<double> pitches;
  for (const PitchPoint& point : track.points)
    if (point.hz > 0) pitches.push_back(point.hz);
  const auto [low, high] = std::minmax_element(pitches.begin(), pitches.end());
  if (options.json) {
    return print_json({{"kind", "sound"},
                       {"title", sound.title},
                       {"rate_hz", sound.rate_hz},
                       {"length_s", sound.length_s()},
                       {"peak_dbfs", decibels(peak)},
                       {"rms_dbfs", decibels(rms)},
                       {"lowest_hz", pitches.empty() ? Json() : Json(*low)},
                       {"highest_hz", pitches.empty() ? Json() : Json(*high)},
                       {"remarks", sound.remarks}});
  }
  print("\"" + printable(sound.title) + "\": sound at " + std::to_string(sound.rate_hz) + " Hz, " +
        clock_time(sound.length_s()) + "\n");
  print(table(
      {{"level", "peak " + figure(decibels(peak)) + " dBFS, mean " + figure(decibels(rms)) + " dBFS"},
       {"strongest pitch", pitches.empty() ? "none found" : figure(*low) + " to " + figure(*high) + " Hz"}}));
  for (const std::string& it : sound.remarks) print("  " + it + "\n");
}

}  // namespace

void add_song(CLI::App& app, Answer& answer) {
  auto* command =
      app.add_subcommand("song", "What is in a song: channels, range, polyphony; or level and pitch");
  const auto options = std::make_shared<SongOptions>();
  command->add_option("INPUT", options->input, "MIDI or sound file")->required();
  command->add_flag("--salvage", options->midi.salvage,
                    "of a damaged MIDI file keep what stands before the damage");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom song song.mid");
  command->callback([options, &answer] {
    answer.exit_code = 0;
    looks_like_sound(options->input) ? describe_sound(*options) : describe_midi(*options);
  });
}

}  // namespace burstloom::command
