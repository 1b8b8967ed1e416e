// Whose limits a command judges by, and how it says so.
#pragma once

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/profile.hpp"

namespace burstloom::command {

/// What the command line says of it.
struct CoilChoice {
  std::string file;                ///< --coil
  bool trust_file_limits = false;  ///< the stream's own are judged by, whatever the bench coil allows
};
/// --coil and --trust-file-limits, for commands that read a stream.
void add_coil_choice(CLI::App& command, CoilChoice& choice);

enum class LimitsFrom { stream_file, set, coil_option, bench_coil };

/// The profile to judge by, whose it is, and what is to be said of the choice.
struct ChosenCoil {
  Profile profile;
  LimitsFrom from = LimitsFrom::stream_file;
  std::string file{};                 ///< that --coil names, without its folders
  bool woven_for_another = false;     ///< the stream carries another coil
  bool has_bench_coil = false;        ///< looked for unless --coil is there
  bool overrides_bench_coil = false;  ///< by --trust-file-limits, where the bench coil is another
  std::vector<std::string> remarks{};
};

/// `choice.file`, else the bench coil, else the profile that the stream at `path` carries (or `carrier` for
/// it). Of the same coil the warmer start counts. Throws Error: usage where there is no profile, and as
/// `bench_coil` does.
[[nodiscard]] ChosenCoil choose_coil(const CoilChoice& choice, const std::string& carried,
                                     const std::string& path, LimitsFrom carrier = LimitsFrom::stream_file);
/// The same where there is no stream yet: `file`, else the bench coil.
[[nodiscard]] ChosenCoil named_coil(const std::string& file);

/// "the bench coil", "the stream file", "--coil wren.toml".
[[nodiscard]] std::string source_of(const ChosenCoil& coil);
/// 'judged by the limits of "Wren" from the bench coil: on-time at most 50 us, ...'
[[nodiscard]] std::string limits_line(const ChosenCoil& coil);
/// That line, what is to be said of the choice, and what is not judged, each in a line.
[[nodiscard]] std::vector<std::string> whose_limits(const ChosenCoil& coil,
                                                    const std::vector<NotJudged>& not_judged);
/// The same where no stream is there to be judged.
[[nodiscard]] std::vector<std::string> whose_limits(const ChosenCoil& coil);
/// Lines of an answer that belong to the one before them.
[[nodiscard]] std::string indented(const std::vector<std::string>& lines);
[[nodiscard]] nlohmann::ordered_json to_json(const ChosenCoil& coil);

}  // namespace burstloom::command
