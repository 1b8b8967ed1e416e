#include <chrono>
#include <filesystem>

#include "audition.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/guard/voice_report.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "burstloom/weave/carry.hpp"
#include "command_line.hpp"
#include "terminal.hpp"
#include "weave_live.hpp"

namespace burstloom::command {
namespace {

struct WeaveCommand {
  SongRequest song;
  std::vector<std::string> coils, outs;
  std::string ledger;
  std::optional<int> voices;
  WeaveOptions weave;
  bool json = false, verbose = false, audition = false, causal = false, live = false, force = false;
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

std::string ledger_csv(const Guarded& guarded, const Profile& profile) {
  std::string text = "wanted,note,voice,wanted_start_us,wanted_on_us,start_us,on_us,fate,limits\n";
  const BurstStream& stream = guarded.stream;
  for (const LedgerEntry& entry : guarded.ledger.entries) {
    char row[200];
    std::snprintf(row, sizeof row, "%u,%u,%u,%.3f,%.3f,%.3f,%.3f,%s,", entry.wanted, entry.note,
                  static_cast<unsigned>(entry.voice), stream.microseconds(entry.wanted_start),
                  stream.microseconds(entry.wanted_on), stream.microseconds(entry.start),
                  stream.microseconds(entry.on), name_of(entry.fate));
    text += row;
    text += "\"" + names_of(entry.causes, profile.limits) + "\"\n";
  }
  return text;
}

std::string share_of(std::int64_t part, std::int64_t whole) {
  const double percent = 100.0 * static_cast<double>(part) / static_cast<double>(whole);
  return percent < 0.05 ? "under 0.1 %" : in_tenths(percent) + " %";
}

// What became of the bursts, for somebody who listens.
std::string say_bursts(const Ledger& ledger) {
  constexpr const char* kWords[kFates] = {"as wanted", "longer", "shorter (softer)",
                                          "a little earlier or later", "left out"};
  std::vector<std::string> parts;
  for (std::size_t i = 0; i < kFates; ++i)
    if (ledger.count[i] > 0) parts.push_back(share_of(ledger.count[i], ledger.wanted) + " " + kWords[i]);
  return parts.empty() ? "" : "  of all bursts " + listed(parts) + "\n";
}

std::string say_ledger(const Ledger& ledger) {
  std::string text = "  bursts: " + grouped(ledger.wanted) + " wanted =";
  for (std::size_t i = 0; i < kFates; ++i)
    text += (i == 0 ? " " : " + ") + grouped(ledger.count[i]) + " " + name_of(static_cast<Fate>(i));
  return text + "\n";
}

// The counts of whole notes before the limits, and the sums after them.
Json notes_json(const NoteCounts& counts, const NoteSums& sums) {
  Json json = command::to_json(sums);
  json.update({{"played", counts.played},
               {"skipped", counts.skipped},
               {"folded", counts.folded},
               {"stolen", counts.stolen}});
  return json;
}

// One coil's part of the work.
struct Woven {
  ChosenCoil coil;
  std::string out;
  Song song;
  Guarded guarded;  ///< what is known of each burst only until the stream is written
  Judgement judgement;
  std::vector<VoiceReport> voices;
  NoteSums notes;
};

void require_pairs(const WeaveCommand& command) {
  const auto refuse = [](const std::string& what, const std::string& what_to_do) {
    return Error(Fault::usage, what, "", what_to_do);
  };
  const std::size_t coils = command.coils.size();
  if (command.outs.empty())
    throw refuse("--out is missing: the stream to write",
                 "add --out " + shown(std::filesystem::path(command.song.input).stem().string()) + ".burst");
  if (command.outs.size() != coils)
    throw refuse(
        std::to_string(coils) + " coils, but " + std::to_string(command.outs.size()) + " streams to write",
        "give one --out for each --coil");
  if (coils > 1 && command.song.plays.size() != coils)
    throw refuse(
        std::to_string(coils) + " coils, but " + std::to_string(command.song.plays.size()) + " times --plays",
        "say for each what it plays: --plays lead --plays rest");
  if (coils > 1 && !command.ledger.empty())
    throw refuse("a ledger is one coil's",
                 "weave for one coil, or read the ledger in the report of each stream");
  for (std::size_t i = 0; i < coils; ++i)
    for (std::size_t k = 0; k < i; ++k)
      if (command.outs[i] == command.outs[k])
        throw refuse("two coils' streams would be written to " + printable(command.outs[i], 200),
                     "name each its own");
}

void place_and_judge(Woven& woven, const WeaveCommand& command) {
  Wanted& wanted = woven.song.wanted;
  woven.guarded = place(std::move(wanted.bursts), woven.coil.profile, command.weave.tick_hz, wanted.length,
                        command.causal ? Placing::causal : Placing::ahead);
  woven.judgement = judge(woven.guarded.stream, woven.coil.profile);
  require_own_check(woven.judgement, command.song.input);
  auto& remarks = woven.judgement.remarks;
  remarks.insert(remarks.end(), woven.coil.remarks.begin(), woven.coil.remarks.end());
  for (std::string& said : model_remarks(&woven.guarded.stream, woven.coil.profile))
    remarks.push_back(std::move(said));
}

// The file has the stream while it is written: an hour's bursts are not held twice. Nothing later asks what
// each burst was.
void write(Woven& woven, FilesTogether& files) {
  woven.voices = report_voices(woven.guarded);
  Account account = account_of(woven.song.score, woven.song.wanted.fates, woven.guarded, woven.coil.profile);
  woven.notes = note_sums(account);
  std::vector<std::uint32_t>().swap(woven.guarded.wanted_of);
  std::vector<std::uint32_t>().swap(woven.guarded.note_of);
  std::vector<std::uint16_t>().swap(woven.guarded.voice_of);
  BurstFile file{std::move(woven.guarded.stream), woven.song.title, woven.coil.profile.text,
                 std::move(account)};
  files.add(woven.out, to_burst_file(file));
  woven.guarded.stream = std::move(file.stream);
}

Json voices_json(const Woven& woven) {
  Json all = Json::array();
  for (const VoiceReport& voice : woven.voices)
    all.push_back({{"voice", voice.voice},
                   {"wanted", voice.wanted},
                   {"moved", voice.moved},
                   {"dropped", voice.dropped},
                   {"rms_move_us", voice.rms_move_us},
                   {"jitter_cents", voice.jitter_cents}});
  return all;
}

Json fates_json(const Wanted& wanted) {
  Json all = Json::array();
  for (const NoteFate& fate : wanted.fates)
    if (fate.what != NoteFateKind::played)
      all.push_back({{"note", fate.note},
                     {"from_s", fate.from_s},
                     {"to_s", fate.to_s},
                     {"what", name_of(fate.what)},
                     {"octaves", fate.octaves},
                     {"why", fate.why},
                     {"by", fate.by ? Json(*fate.by) : Json()}});
  return all;
}

Json woven_json(const Woven& woven) {
  Json json = command::to_json(woven.judgement, woven.guarded.stream);
  json["judged_by"] = command::to_json(woven.coil);
  json["ledger"] = command::to_json(woven.guarded.ledger);
  json["notes"] = notes_json(woven.song.wanted.notes, woven.notes);
  json["notes_changed"] = fates_json(woven.song.wanted);
  json["voices"] = voices_json(woven);
  json["song"] = {{"title", woven.song.title}, {"remarks", woven.song.remarks}};
  json["out"] = woven.out;
  return json;
}

void say(const Woven& woven) {
  const BurstStream& stream = woven.guarded.stream;
  print("\"" + printable(woven.song.title) + "\" for \"" + woven.coil.profile.name +
        "\": " + grouped(static_cast<std::int64_t>(stream.bursts.size())) + " bursts in " +
        song_length(stream.seconds(stream.length)) + "\n");
  print(describe(woven.notes) + say_bursts(woven.guarded.ledger));
  for (const std::string& it : woven.song.remarks) print("  " + it + "\n");
  print(one_line(woven.judgement) + "\n  " + limits_line(woven.coil) + "\n" +
        say_ledger(woven.guarded.ledger) + describe(woven.judgement) +
        sparklines(stream, woven.coil.profile, woven.judgement) + "written: " + shown(woven.out) + "\n");
}

void answer_json(const std::vector<Woven>& all) {
  if (all.size() == 1) return print_json(woven_json(all.front()));
  Json coils = Json::array();
  for (const Woven& woven : all) coils.push_back(woven_json(woven));
  print_json({{"coils", coils}});
}

// Prints how all ways do, and weaves the one that is picked where there is an --out for it.
void weave(WeaveCommand& command, Answer& answer);

void try_all_ways(WeaveCommand& command, Answer& answer) {
  if (command.coils.size() != 1 || !looks_like_sound(command.song.input))
    throw Error(Fault::usage, "an audition is for one recording and one coil", "--audition",
                "give a sound file and one --coil");
  Progress progress(1);
  progress.next("trying all ways");
  const Profile profile = named_coil(command.coils.front()).profile;
  command.weave.voices = command.voices.value_or(profile.voices);
  const std::vector<Tried> all = audition(command.song, {&profile, command.weave});
  const Picked picked = picked_of(all);
  progress.done();
  answer.exit_code = picked.how.empty() ? 1 : 0;
  if (command.json) return print_json(audition_json(all, picked));
  print(describe(all, picked));
  if (command.outs.empty() || picked.how.empty()) return;
  command.song.how = picked.how;
  command.audition = false;
  weave(command, answer);
}

void weave(WeaveCommand& command, Answer& answer) {
  if (command.coils.empty()) command.coils = {""};  // the bench coil
  std::vector<std::string> inputs = command.coils;
  inputs.insert(inputs.end(), {command.song.input, command.song.arrangement});
  std::vector<Output> outputs = {{command.ledger, OutputKind::ledger}};
  for (const std::string& out : command.outs) outputs.push_back({out, OutputKind::stream});
  require_nothing_lost(inputs, outputs, command.force);
  if (command.audition) return try_all_ways(command, answer);
  require_pairs(command);
  if (command.live) {
    if (command.coils.size() > 1 || !command.ledger.empty() || command.causal)
      throw Error(Fault::usage, "--live goes with one coil, and with neither --ledger nor --causal", "",
                  "leave them out");
    return weave_live(command.song, command.coils.front(), command.outs.front(), command.weave,
                      command.voices, command.json, answer);
  }
  Stopwatch watch;
  Progress progress(looks_like_sound(command.song.input) ? 5 : 4);
  progress.next("reading the song");
  command.song.tell = {[&](const char* step) { progress.next(step); },
                       [&](double share) { progress.share(share); }};
  std::vector<Woven> all(command.coils.size());
  std::vector<CoilRequest> coils;
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].coil = named_coil(command.coils[i]);
    all[i].out = command.outs[i];
    command.weave.voices = command.voices.value_or(all[i].coil.profile.voices);
    coils.push_back({&all[i].coil.profile, command.weave});
  }
  std::vector<Song> songs = songs_for(command.song, coils);
  for (std::size_t i = 0; i < all.size(); ++i) all[i].song = std::move(songs[i]);
  watch.lap("song to wanted bursts");
  progress.next("placing and checking");
  for (Woven& woven : all) place_and_judge(woven, command);
  watch.lap("placing and check");
  progress.next("writing");
  FilesTogether files;
  for (Woven& woven : all) write(woven, files);
  if (!command.ledger.empty()) files.add(command.ledger, ledger_csv(all[0].guarded, all[0].coil.profile));
  files.place();
  watch.lap("writing");
  progress.done();
  if (command.verbose) remark(watch.said());
  answer.exit_code = 0;
  if (command.json) return answer_json(all);
  for (const Woven& woven : all) say(woven);
}

}  // namespace

void add_weave(CLI::App& app, Answer& answer) {
  auto* command =
      app.add_subcommand("weave", "Turns a song (MIDI or sound file) into a stream inside the coil's limits");
  const auto options = std::make_shared<WeaveCommand>();
  std::vector<std::string> ways;
  std::string summaries;
  const auto add_way = [&](const auto& way) {
    ways.emplace_back(way.name);
    summaries += std::string(summaries.empty() ? "" : "; ") + way.name + ": " + way.summary;
  };
  for (const WayOfListening& way : ways_of_listening()) add_way(way);
  for (const WayOfCarrying& way : ways_of_carrying()) add_way(way);
  command->add_option("INPUT", options->song.input, "MIDI file, or WAV, AIFF, FLAC, OGG, Opus, MP3")
      ->required();
  command
      ->add_option(
          "--coil", options->coils,
          "the coil's profile (default: the bench coil, burstloom coil use); several times for several coils")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command->add_option("--out", options->outs, "the stream to write (.burst), one for each coil")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command
      ->add_option(
          "--plays", options->song.plays,
          "with several coils, for each: lead, bass, inner, drums, channels, or rest; commas between")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command->add_option("--ledger", options->ledger, "also write what was changed and why, as CSV");
  offer(*command->add_option("--how", options->song.how, "how to listen to a sound file: " + summaries),
        ways);
  command->add_option("--arrangement", options->song.arrangement,
                      "who plays, how loud, in which octave (TOML; `song --suggest` writes a first one)");
  command->add_option("--carrier-hz", options->song.carrier_hz,
                      "rate of --how carrier and density (default: the highest that the limits leave)");
  command->add_option("--snap", options->song.snap,
                      "bring notes heard in a recording onto its beat, in so many parts, 1 to 16");
  command->add_flag("--keep-silence", options->song.keep_silence,
                    "keep the silence before a recording's first sound and after its last");
  command->add_option("--voices", options->voices,
                      "notes that may sound at once, 1 to 16 (default: the profile's)");
  command
      ->add_option("--cap", options->weave.cap_of_period,
                   "how far a burst may move before it is dropped, in periods of its note, 0 to 0.5")
      ->capture_default_str();
  command->add_option("--tick-hz", options->weave.tick_hz, "ticks a second")->capture_default_str();
  add_longest(*command, options->weave.longest_s);
  command->add_flag(
      "--causal", options->causal,
      "place bursts one after the other, as a player does on its own: some more are lost, and the "
      "table for a chip is smallest");
  command->add_flag("--live", options->live,
                    "of a MIDI file: as live playing plays it, with nothing known of what is to come");
  command->add_flag("--salvage", options->song.midi.salvage,
                    "of a damaged MIDI file keep what stands before the damage");
  command->add_flag(
      "--audition", options->audition,
      "try all ways of listening to a recording, print how they do and pick one; --out weaves it");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->add_flag("--verbose", options->verbose, "say how long each step took");
  command->footer(
      "Example:\n  burstloom weave song.mid --coil coil.toml --out song.burst --ledger song-ledger.csv");
  command->callback([options, &answer] { weave(*options, answer); });
}

}  // namespace burstloom::command
