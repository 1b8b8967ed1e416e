// What the subcommands share: how they register, how they answer, and how numbers are said.
#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/profile.hpp"
#include "burstloom/common/overwrite.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/stream/files.hpp"
#include "burstloom/weave/note_sums.hpp"
#include "burstloom/weave/weave.hpp"
#include "chosen_coil.hpp"

namespace burstloom::command {

/// Keys keep the order in which they are written down.
using Json = nlohmann::ordered_json;

/// What a subcommand leaves behind for `run`.
struct Answer {
  int exit_code = 0;
};

// Each subcommand puts itself into the command line; its work runs when it was chosen.
void add_coil(CLI::App& app, Answer& answer);
void add_coil_show(CLI::App& coil, Answer& answer);
void add_coil_use(CLI::App& coil, Answer& answer);
void add_coil_fit(CLI::App& coil, Answer& answer);
void add_coil_parts(CLI::App& coil, Answer& answer);
void add_song(CLI::App& app, Answer& answer);
void add_weave(CLI::App& app, Answer& answer);
void add_check(CLI::App& app, Answer& answer);
void add_export(CLI::App& app, Answer& answer);
void add_preview(CLI::App& app, Answer& answer);
void add_send(CLI::App& app, Answer& answer);
void add_live(CLI::App& app, Answer& answer);

/// The whole command line, ready to parse; what is chosen leaves its exit code in `answer`.
[[nodiscard]] std::unique_ptr<CLI::App> make_command_line(Answer& answer);

/// The option --force of a command that writes.
void add_force(CLI::App& command, bool& force);
/// Throws Error (usage) where an output would replace an input or, unless `force`, a file of the user's.
void require_nothing_lost(const std::vector<std::string>& inputs, const std::vector<Output>& outputs,
                          bool force);

/// Shows in an option's help, and to the shells' completions, which words may follow it. Whoever reads the
/// option refuses others.
void offer(CLI::Option& option, const std::vector<std::string>& words);
/// --longest, in minutes on the command line.
void add_longest(CLI::App& command, double& longest_s);
void add_set(CLI::App& app, Answer& answer);

/// Prints one JSON object on standard output; broken UTF-8 in names is replaced.
void print_json(const Json& json);
/// Prints text on standard output, as `for_terminal` has it.
void print(const std::string& text);
/// A file's name for a terminal, never cut: control characters and broken UTF-8 in it become '?'.
[[nodiscard]] std::string shown(const std::string& path);
/// Prints a remark for people on standard error.
void remark(const std::string& text);

/// Columns aligned with two spaces between them; every row as wide as the first.
[[nodiscard]] std::string table(const std::vector<std::vector<std::string>>& rows,
                                const std::string& indent = "  ");

/// How much of a stream was judged.
struct Extent {
  std::int64_t bursts = 0, tick_hz = kDefaultTickHz;
  Tick length = 0;
  Extent() = default;
  Extent(const BurstStream& stream)  // NOLINT(google-explicit-constructor): a stream says it all
      : bursts(static_cast<std::int64_t>(stream.bursts.size())),
        tick_hz(stream.tick_hz),
        length(stream.length) {}
  [[nodiscard]] double length_s() const { return static_cast<double>(length) / static_cast<double>(tick_hz); }
};
[[nodiscard]] Json to_json(const Judgement& judgement, const Extent& extent);
[[nodiscard]] Json to_json(const Ledger& ledger);
[[nodiscard]] Json to_json(const NoteSums& notes);
/// "notes: 120 read = 90 played whole (75 %) + ...", and what took the others.
[[nodiscard]] std::string describe(const NoteSums& notes);
/// The limits table, what exceeds them (the first stretches), what is not judged, the rest before a repeat.
/// Tinted where standard output is a terminal that takes it, as `one_line` is.
[[nodiscard]] std::string describe(const Judgement& judgement);
/// The verdict in one line for standard output: a mark, `verdict_words`.
[[nodiscard]] std::string one_line(const Judgement& judgement);

/// What the bus does under the stream, where the profile gives the supply: its droop, and the mean power
/// beside what the supply can give for ever. No limit takes credit for droop; it is told so that nobody is
/// surprised.
[[nodiscard]] std::vector<std::string> supply_remarks(const BurstStream& stream, const Profile& profile);
/// That, if there is a stream, and what judgements of heat assume.
[[nodiscard]] std::vector<std::string> model_remarks(const BurstStream* stream, const Profile& profile);

/// A stream with the coil that it is to be judged for.
struct JudgedInput {
  StreamFile source;
  ChosenCoil coil;
};
/// How to judge a capture, and a stream where there is none; `tolerance_us` nothing: one sample.
[[nodiscard]] JudgeOptions judge_options(const std::optional<CaptureSigns>& capture,
                                         std::optional<double> tolerance_us);
/// What was odd about a capture, in words.
[[nodiscard]] std::vector<std::string> oddities_of(const CaptureSigns& capture);
/// Reads a stream, and chooses its coil as `choose_coil` does.
[[nodiscard]] JudgedInput read_judged_input(const std::string& path, const CoilChoice& choice,
                                            const CaptureOptions& options);
/// Whether it is a capture of hardware, whose times hold the clock's error already.
[[nodiscard]] bool is_measured(const JudgedInput& input);
/// Judges it as a stream or as the capture that it is; `tolerance_us` nothing: one sample.
[[nodiscard]] Judgement judge_input(const JudgedInput& input, std::optional<double> tolerance_us);
/// Judges it as what a player shall do: a capture that is played again is timed by that player's clock.
[[nodiscard]] Judgement judge_as_command(const JudgedInput& input);

/// The page that `preview --out` writes, of a stream that needs no source beside it.
[[nodiscard]] std::string preview_page(const std::string& input_file, const BurstFile& file,
                                       const Profile& profile);

}  // namespace burstloom::command
