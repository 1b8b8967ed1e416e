#include <chrono>

#include "burstloom/common/error.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/carry.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct WeaveCommand {
  std::string input, coil, out, ledger, how, arrangement;
  std::optional<int> voices;
  std::optional<double> carrier_hz;
  WeaveOptions weave;
  MidiOptions midi;
  bool json = false, verbose = false;
};

// Names the steps of the work and what each took, for --verbose.
class Stopwatch {
 public:
  void lap(const char* step) {
    const auto now = std::chrono::steady_clock::now();
    const double ms = std::chrono::duration<double, std::milli>(now - last_).count();
    last_ = now;
    total_ms_ += ms;
    char text[64];
    std::snprintf(text, sizeof text, "%s %.1f ms", step, ms);
    said_ += (said_.empty() ? "" : ", ") + std::string(text);
  }
  [[nodiscard]] std::string said() const { return said_ + "; in all " + figure(total_ms_) + " ms"; }

 private:
  std::chrono::steady_clock::time_point last_ = std::chrono::steady_clock::now();
  double total_ms_ = 0;
  std::string said_;
};

struct Song {
  Wanted wanted;
  std::string title;
  std::vector<std::string> remarks;
  std::optional<Score> score;  // of MIDI files, and of ways of listening that hear notes
};

Score as_arranged(Score score, const WeaveCommand& command) {
  if (command.arrangement.empty()) return score;
  return arranged(std::move(score), read_arrangement(command.arrangement));
}

Song wanted_from_midi(const WeaveCommand& command, const Profile& profile) {
  Score score = as_arranged(read_midi_score(command.input, command.midi), command);
  Wanted wanted = wanted_from_score(score, profile, command.weave);
  return {std::move(wanted), score.title, score.remarks, std::move(score)};
}

const WayOfListening& way_named(const std::string& name) {
  if (name.empty()) return ways_of_listening().front();
  std::string known;
  for (const WayOfListening& way : ways_of_listening()) {
    if (name == way.name) return way;
    known += std::string(way.name) + ", ";
  }
  for (const WayOfCarrying& way : ways_of_carrying())
    known += std::string(way.name) + (&way == &ways_of_carrying().back() ? "" : ", ");
  throw Error(Fault::usage, "there is no way of listening called \"" + printable(name) + "\"", "--how",
              "choose one of: " + known);
}

const WayOfCarrying* carrying_named(const std::string& name) {
  for (const WayOfCarrying& way : ways_of_carrying())
    if (name == way.name) return &way;
  return nullptr;
}

Song carried_sound(const WayOfCarrying& way, const Sound& sound, const WeaveCommand& command,
                   const Profile& profile) {
  Carried carried = way.carry(sound, profile, command.weave, command.carrier_hz);
  Song song{std::move(carried.wanted), sound.title, sound.remarks, {}};
  const Carrier& carrier = carried.carrier;
  song.remarks.push_back(std::string("carried by way of \"") + way.name + "\" at " + figure(carrier.rate_hz) +
                         " Hz, on-times from " + figure(carrier.shortest_us) + " to " +
                         figure(carrier.longest_us) + " us: what the limits leave keeps the sound up to " +
                         figure(carrier.bandwidth_hz) + " Hz");
  return song;
}

Song wanted_from_sound(const WeaveCommand& command, const Profile& profile) {
  const WayOfCarrying* carrying = carrying_named(command.how);
  if (carrying != nullptr) return carried_sound(*carrying, read_sound(command.input), command, profile);
  const WayOfListening& way = way_named(command.how);
  const Sound sound = read_sound(command.input);
  Heard heard = way.listen(sound);
  Song song{{}, sound.title, sound.remarks, {}};
  song.remarks.push_back(std::string("listened by way of \"") + way.name + "\"");
  if (const auto* moments = std::get_if<Moments>(&heard))
    song.wanted = wanted_from_moments(*moments, sound.length_s(), profile, command.weave);
  else if (const auto* track = std::get_if<PitchTrack>(&heard))
    song.wanted = wanted_from_track(*track, sound.length_s(), profile, command.weave);
  else
    song.score = as_arranged(std::move(std::get<Score>(heard)), command);
  if (song.score) song.wanted = wanted_from_score(*song.score, profile, command.weave);
  return song;
}

std::string ledger_csv(const Guarded& guarded, const std::vector<WantedBurst>& wanted,
                       const Profile& profile) {
  std::string text = "wanted,note,voice,wanted_start_us,wanted_on_us,start_us,on_us,fate,limits\n";
  const BurstStream& stream = guarded.stream;
  for (const LedgerEntry& entry : guarded.ledger.entries) {
    char row[200];
    std::snprintf(row, sizeof row, "%u,%u,%u,%.3f,%.3f,%.3f,%.3f,%s,", entry.wanted, entry.note,
                  static_cast<unsigned>(wanted[entry.wanted].voice), stream.microseconds(entry.wanted_start),
                  stream.microseconds(entry.wanted_on), stream.microseconds(entry.start),
                  stream.microseconds(entry.on), name_of(entry.fate));
    text += row;
    text += "\"" + names_of(entry.causes, profile.limits) + "\"\n";
  }
  return text;
}

std::string say_ledger(const Ledger& ledger) {
  std::string text = "  bursts: " + grouped(ledger.wanted) + " wanted =";
  for (std::size_t i = 0; i < kFates; ++i)
    text += (i == 0 ? " " : " + ") + grouped(ledger.count[i]) + " " + name_of(static_cast<Fate>(i));
  return text + "\n";
}

std::string say_notes(const NoteCounts& notes) {
  return "  notes: " + grouped(notes.read) + " read, " + grouped(notes.played) + " played, " +
         grouped(notes.skipped) + " skipped, " + grouped(notes.folded) + " folded, " + grouped(notes.stolen) +
         " stolen\n";
}

void weave(WeaveCommand& command, Answer& answer) {
  Stopwatch watch;
  Progress progress(4);
  progress.next("reading the song");
  const Profile profile = read_profile(command.coil);
  command.weave.voices = command.voices.value_or(profile.voices);
  const Song song = looks_like_sound(command.input) ? wanted_from_sound(command, profile)
                                                    : wanted_from_midi(command, profile);
  watch.lap("song to wanted bursts");
  progress.next("placing bursts");
  const Guarded guarded = place(song.wanted.bursts, profile, command.weave.tick_hz, song.wanted.length);
  watch.lap("placing");
  progress.next("checking");
  Judgement judgement = judge(guarded.stream, profile);
  watch.lap("check");
  for (std::string& said : supply_remarks(guarded.stream, profile))
    judgement.remarks.push_back(std::move(said));
  if (judgement.verdict != Verdict::within_limits)
    throw Error(Fault::machine, "the woven stream did not pass its own check (" + one_line(judgement) + ")",
                printable(command.input, 200),
                "nothing was written; please report this with the song and the profile");
  progress.next("writing");
  write_file(command.out, to_burst_file({guarded.stream, song.title, profile.text,
                                         account_of(song.score, song.wanted.bursts, guarded, profile)}));
  if (!command.ledger.empty()) write_file(command.ledger, ledger_csv(guarded, song.wanted.bursts, profile));
  watch.lap("writing");
  progress.done();
  if (command.verbose) remark(watch.said());
  answer.exit_code = 0;
  if (command.json) {
    Json json = to_json(judgement, guarded.stream);
    json["ledger"] = to_json(guarded.ledger);
    json["notes"] = to_json(song.wanted.notes);
    json["song"] = {{"title", song.title}, {"remarks", song.remarks}};
    json["out"] = command.out;
    return print_json(json);
  }
  print("\"" + printable(song.title) + "\" for \"" + profile.name +
        "\": " + grouped(static_cast<std::int64_t>(guarded.stream.bursts.size())) + " bursts in " +
        clock_time(guarded.stream.seconds(guarded.stream.length)) + "\n" + one_line(judgement) + "\n");
  print(say_ledger(guarded.ledger) + say_notes(song.wanted.notes));
  for (const std::string& it : song.remarks) print("  " + it + "\n");
  print(describe(judgement) + sparklines(guarded.stream, profile, judgement) + "written: " + command.out +
        "\n");
}

}  // namespace

void add_weave(CLI::App& app, Answer& answer) {
  auto* command =
      app.add_subcommand("weave", "Turns a song (MIDI or sound file) into a stream inside the coil's limits");
  const auto options = std::make_shared<WeaveCommand>();
  std::string ways;
  for (const WayOfListening& way : ways_of_listening())
    ways += std::string(ways.empty() ? "" : "; ") + way.name + ": " + way.summary;
  command->add_option("INPUT", options->input, "MIDI file, or WAV, AIFF, FLAC, OGG, Opus, MP3")->required();
  command->add_option("--coil", options->coil, "the coil's profile")->required();
  command->add_option("--out", options->out, "the stream to write (.burst)")->required();
  for (const WayOfCarrying& way : ways_of_carrying())
    ways += std::string("; ") + way.name + ": " + way.summary;
  command->add_option("--ledger", options->ledger, "also write what was changed and why, as CSV");
  command->add_option("--how", options->how, "how to listen to a sound file: " + ways);
  command->add_option("--arrangement", options->arrangement,
                      "who plays, how loud, in which octave (TOML; `song --suggest` writes a first one)");
  command->add_option("--carrier-hz", options->carrier_hz,
                      "rate of --how carrier and density (default: the highest that the limits leave)");
  command->add_option("--voices", options->voices,
                      "notes that may sound at once, 1 to 16 (default: the profile's)");
  command
      ->add_option("--cap", options->weave.cap_of_period,
                   "how far a burst may move before it is dropped, in periods of its note, 0 to 0.5")
      ->capture_default_str();
  command->add_option("--tick-hz", options->weave.tick_hz, "ticks a second")->capture_default_str();
  command->add_flag("--salvage", options->midi.salvage,
                    "of a damaged MIDI file keep what stands before the damage");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->add_flag("--verbose", options->verbose, "say how long each step took");
  command->footer(
      "Example:\n  burstloom weave song.mid --coil coil.toml --out song.burst --ledger song-ledger.csv");
  command->callback([options, &answer] { weave(*options, answer); });
}

}  // namespace burstloom::command
