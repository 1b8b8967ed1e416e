#include <algorithm>

#include "burstloom/common/error.hpp"
#include "burstloom/common/nearest.hpp"
#include "burstloom/tables/tables.hpp"
#include "export_set.hpp"
#include "set_folder.hpp"

namespace burstloom::command {
namespace {

// A player on a link knows no song whose heat it could reckon with; each song asks for the rest that it
// needs, and this is for what comes without: another one after a reset, say.
constexpr double kRestOfPlayer_s = 60;

struct ExportOptions {
  std::vector<std::string> inputs;
  CoilChoice coil;
  std::string format, out, target = "atmega328p";
  std::vector<double> pauses_s;
  CaptureOptions capture;
  std::optional<double> from_s, until_s;
  std::optional<int> rate_hz;
  std::optional<double> rest_s;
  std::optional<std::int64_t> baud;
  bool json = false, force = false;
};

// Of a project's folder, it is told where it is written.
std::vector<Output> outputs_of(const ExportOptions& options) {
  for (const auto& [format, kind] : {std::pair{"csv", OutputKind::csv},
                                     {"vcd", OutputKind::vcd},
                                     {"wav", OutputKind::sound},
                                     {"header", OutputKind::header}})
    if (options.format == format) return {{options.out, kind}};
  return {};
}

const std::vector<std::string> kFormats = {"header", "project", "player", "vcd", "csv", "wav"};

void require_known_format(const std::string& format) {
  if (std::find(kFormats.begin(), kFormats.end(), format) != kFormats.end()) return;
  const std::string meant = nearest(format, kFormats), chip = meant.empty() ? nearest_target(format) : "";
  throw Error(Fault::usage, "there is nothing called \"" + printable(format) + "\" to export to", "--to",
              !chip.empty() ? "did you mean --to project --target " + chip + "?"
                            : did_you_mean(format, kFormats, "choose one of: " + listed(kFormats)));
}

void cut_to_excerpt(BurstFile& file, const ExportOptions& options) {
  if (!options.from_s && !options.until_s) return;
  const BurstStream& whole = file.stream;
  const double from_s = options.from_s.value_or(0),
               until_s = options.until_s.value_or(whole.seconds(whole.length));
  if (!(from_s >= 0 && from_s < until_s && until_s <= 1e7))
    throw Error(Fault::usage, "an excerpt from " + figure(from_s) + " s until " + figure(until_s) + " s",
                "--from, --until", "give a start that is not negative and an end after it");
  const Tick from = nearest_tick(from_s, whole.tick_hz), until = nearest_tick(until_s, whole.tick_hz);
  file.account = excerpt(file.account, whole, from, until);
  file.stream = excerpt(whole, from, until);
}

std::string bytes_a_burst(const TableFit& fit) {
  char text[40];
  std::snprintf(
      text, sizeof text, "%.2f a burst",
      static_cast<double>(fit.table_bytes) / static_cast<double>(std::max<std::int64_t>(1, fit.bursts)));
  return text;
}

std::string say_fit(const TableFit& fit, const Target& target) {
  return "  " + grouped(fit.bursts) + " bursts, table of " + name_of(fit.encoding) + ", " +
         grouped(fit.table_bytes) + " bytes (" + bytes_a_burst(fit) + "); " + target.chip + ": flash " +
         grouped(fit.flash_used) + " of " + grouped(fit.flash_of) + " bytes, RAM " + grouped(fit.ram_used) +
         " of " + grouped(fit.ram_of) + " bytes\n";
}

// The targets that hold all of it, by name.
std::vector<std::string> targets_that_hold(const Tables& tables) {
  std::vector<std::string> names;
  for (const Target& target : targets())
    if (can_hold(target, tables)) names.push_back(target.name);
  return names;
}

std::string say_holders(const TableFit& fit, const BurstStream& stream, const Tables& tables) {
  const double kilobytes = static_cast<double>(fit.table_bytes) / 1024;
  std::string names;
  for (const std::string& name : targets_that_hold(tables)) names += (names.empty() ? "" : ", ") + name;
  return "  " + figure(stream.seconds(stream.length) / kilobytes) +
         " s a kilobyte; all of it fits on: " + names + "\n";
}

Json to_json(const TableFit& fit) {
  return {{"encoding", name_of(fit.encoding)}, {"table_bytes", fit.table_bytes},
          {"flash_used", fit.flash_used},      {"flash_of", fit.flash_of},
          {"ram_used", fit.ram_used},          {"ram_of", fit.ram_of}};
}

void write_as(const ExportOptions& options, const BurstStream& stream, const Tables& tables) {
  const std::string& format = options.format;
  if (format == "csv") return write_file(options.out, to_csv(stream));
  if (format == "vcd") return write_file(options.out, to_vcd(stream));
  if (format == "wav")
    return write_wav_gate(stream, options.rate_hz.value_or(static_cast<int>(stream.tick_hz)), options.out);
  const Target& target = target_named(options.target);
  if (format == "header") return write_file(options.out, table_header(tables, target));
  write_folder(options.out, project(tables, target), options.force);
}

// A player without a song: it needs the coil alone.
void export_player(const ExportOptions& options) {
  refuse_if(!options.inputs.empty(), "--to player takes no stream",
            "leave it out, and send it with burstloom send");
  refuse_if(options.from_s || options.until_s || options.rate_hz || !options.pauses_s.empty(),
            "--to player has no use for --from, --until, --rate, --pause", "leave them out");
  const Target& target = target_named(options.target);
  const ChosenCoil coil = named_coil(options.coil.file);
  LinkPlayer player;
  player.profile = coil.profile;
  player.whose_limits = whose_limits(coil);
  player.rest_s = options.rest_s.value_or(kRestOfPlayer_s);
  player.baud = options.baud.value_or(player.baud);
  write_folder(options.out, link_player(player, target), options.force);
  const PlayerLimits limits = player_limits(player.profile, target.tick_hz, player.rest_s);
  if (options.json)
    return print_json({{"judged_by", command::to_json(coil)},
                       {"out", options.out},
                       {"on_max_ticks", limits.on_max},
                       {"gap_min_ticks", limits.gap_min},
                       {"rest_ms", limits.rest_ms},
                       {"baud", player.baud}});
  print("written: " + shown(options.out) + ", a player for \"" + player.profile.name + "\" at " +
        std::to_string(player.baud) + " baud; it rests at least " + figure(player.rest_s) +
        " s before a song\n" + indented(player.whose_limits));
}

void export_stream(const ExportOptions& options, Answer& answer) {
  refuse_if(!options.pauses_s.empty(), "--pause is for several streams",
            "leave it out, or name more streams");
  const std::string& path = options.inputs.front();
  SongInARow song{.path = path, .input = read_judged_input(path, options.coil, options.capture)};
  cut_to_excerpt(song.input.source.file, options);
  judge_for(song, "not exported");
  const Judgement judgement = song.judgement;
  const Json judged_by = command::to_json(song.input.coil);
  const TableInput table = table_input(std::move(song));
  const Tables tables(table);
  write_as(options, table.stream, tables);
  answer.exit_code = 0;
  const bool on_chip = options.format == "header" || options.format == "project";
  if (options.json) {
    Json json = command::to_json(judgement, table.stream);
    json["judged_by"] = judged_by;
    json["out"] = options.out;
    if (on_chip) {
      json["fit"] = to_json(fit_of(tables, target_named(options.target)));
      json["fits_on"] = targets_that_hold(tables);
    }
    return print_json(json);
  }
  print(one_line(judgement) + "\n" + indented(table.whose_limits));
  if (on_chip) {
    const Target& target = target_named(options.target);
    const TableFit fit = fit_of(tables, target);
    print(say_fit(fit, target) + say_holders(fit, table.stream, tables));
  }
  print("written: " + shown(options.out) + "\n");
}

}  // namespace

void add_export(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "export", "Writes a stream as a C header, a ready project, VCD, CSV or WAV; or a player");
  const auto options = std::make_shared<ExportOptions>();
  std::vector<std::string> chips;
  for (const Target& target : targets()) chips.push_back(target.name);
  command->add_option(
      "STREAM", options->inputs,
      "the stream (.burst; others with --coil); several, or the folder of a set: songs in one "
      "image, in this order; none for a player");
  offer(*command->add_option("--to", options->format, "what to write")->required(), kFormats);
  command->add_option("--out", options->out, "the file, or for a project the folder, to write")->required();
  offer(*command->add_option("--target", options->target, "the chip")->capture_default_str(), chips);
  add_coil_choice(*command, options->coil);
  command->add_option("--from", options->from_s, "start of an excerpt, s");
  command->add_option("--until", options->until_s, "end of an excerpt, s");
  command
      ->add_option("--pause", options->pauses_s,
                   "of several streams: pause after each, s; once for all, or again for each (default: the "
                   "shortest rest)")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command->add_option("--rate", options->rate_hz,
                      "samples a second of a WAV, at least 192000 (default: the ticks')");
  command->add_option("--rest", options->rest_s,
                      "of a player: its shortest rest before a song, s (default: 60)");
  command->add_option("--baud", options->baud, "of a player: its line's rate (default: 115200)");
  command->add_option("--wire", options->capture.wire, "which wire of a VCD capture");
  command->add_flag("--invert", options->capture.invert, "the gate of a capture is active low");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer(
      "Example:\n  burstloom export song.burst --to project --target atmega328p --out song-project --until "
      "12\n  burstloom export one.burst two.burst --pause 30 --to project --target rp2040 --out evening");
  command->callback([options, &answer] {
    require_known_format(options->format);
    if (options->format == "player") {
      export_player(*options);
      answer.exit_code = 0;
      return;
    }
    open_set(options->inputs, options->pauses_s);
    refuse_if(options->inputs.empty(), "there is no stream to export",
              "name one, or use --to player with --coil");
    refuse_if(options->rest_s || options->baud, "--rest and --baud are for --to player only",
              "leave them out");
    std::vector<std::string> read = options->inputs;
    read.push_back(options->coil.file);
    require_inputs_kept(read, {options->out});
    if (!options->force) require_replaceable(outputs_of(*options));
    if (options->inputs.size() > 1) {
      refuse_if(options->from_s || options->until_s, "--from and --until are for one stream",
                "leave them out, or export excerpts one by one");
      export_set({options->inputs, options->pauses_s, options->coil, options->capture, options->format,
                  options->target, options->out, options->json, options->force});
      answer.exit_code = 0;
    } else {
      export_stream(*options, answer);
    }
  });
}

}  // namespace burstloom::command
