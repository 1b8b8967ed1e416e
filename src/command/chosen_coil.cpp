#include "chosen_coil.hpp"

#include <algorithm>
#include <filesystem>

#include "bench_coil.hpp"
#include "burstloom/coil/limits_line.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom::command {
namespace {

struct StartOfSong {
  double sink_c, case_c;
};

StartOfSong start_of(const Profile& profile) {
  const Heatsink& sink = profile.heatsink;
  const double sink_c = sink.start_c.value_or(sink.ambient_c);
  return {sink_c, sink.case_start_c.value_or(sink_c)};
}

// Songs of a set start on a coil that others have warmed.
Profile as_warm_as(const Profile& coil, const Profile& carried) {
  const StartOfSong own = start_of(coil), other = start_of(carried);
  return started_at(coil, std::max(own.sink_c, other.sink_c), std::max(own.case_c, other.case_c));
}

std::string name_in_stream(const std::string& path) {
  return printable(path) + " (the profile in it)";
}

// Damaged or of a later program, it is another in any case.
bool carries_same_coil(const std::string& carried, const std::string& path, const Profile& coil) {
  try {
    return carried == coil.text || is_same_coil(parse_profile(carried, name_in_stream(path)), coil);
  } catch (const Error&) {
    return false;
  }
}

ChosenCoil from_option(const std::string& file) {
  return {.profile = read_profile(file),
          .from = LimitsFrom::coil_option,
          .file = printable(std::filesystem::path(file).filename().string())};
}

ChosenCoil from_bench(const BenchCoil& bench) {
  ChosenCoil chosen{.profile = bench.profile, .from = LimitsFrom::bench_coil, .has_bench_coil = true};
  if (has_changed(bench))
    chosen.remarks.push_back(
        "the bench coil is a copy, and its original has changed since: burstloom coil use " +
        printable(bench.original, 200) + " takes the change over");
  return chosen;
}

void compare_with(ChosenCoil& chosen, const std::string& carried, const std::string& path) {
  if (carried.empty()) return;
  chosen.woven_for_another = !carries_same_coil(carried, path, chosen.profile);
  if (chosen.woven_for_another)
    chosen.remarks.push_back("woven for another profile than " + source_of(chosen) +
                             "; judged by the latter");
  else if (chosen.from == LimitsFrom::bench_coil)
    chosen.profile = as_warm_as(chosen.profile, parse_profile(carried, name_in_stream(path)));
}

ChosenCoil from_stream(const std::optional<BenchCoil>& bench, const std::string& carried,
                       const std::string& path, LimitsFrom carrier) {
  if (carried.empty())
    throw Error(Fault::usage, "this file carries no coil profile", printable(path, 200),
                "name the coil it is for with --coil COIL.toml");
  ChosenCoil chosen{.profile = parse_profile(carried, name_in_stream(path)),
                    .from = carrier,
                    .has_bench_coil = bench.has_value()};
  chosen.overrides_bench_coil = bench && !is_same_coil(chosen.profile, bench->profile);
  if (chosen.overrides_bench_coil)
    chosen.remarks.push_back("--trust-file-limits: the bench coil \"" + printable(bench->profile.name) +
                             "\" was overridden");
  return chosen;
}

std::string not_judged_line(const std::vector<NotJudged>& not_judged) {
  std::string line;
  for (const NotJudged& missing : not_judged) line += (line.empty() ? "not judged: " : ", ") + missing.limit;
  return line.empty() ? "every limit is judged" : line;
}

}  // namespace

void add_coil_choice(CLI::App& command, CoilChoice& choice) {
  auto* coil =
      command.add_option("--coil", choice.file,
                         "the coil's profile (default: the bench coil, burstloom coil use; without one, "
                         "the profile in a .burst file)");
  command
      .add_flag("--trust-file-limits", choice.trust_file_limits,
                "judge by the limits in the stream file, whatever the bench coil allows")
      ->excludes(coil);
}

ChosenCoil choose_coil(const CoilChoice& choice, const std::string& carried, const std::string& path,
                       LimitsFrom carrier) {
  const auto bench = choice.file.empty() ? bench_coil() : std::nullopt;
  if (choice.trust_file_limits || (choice.file.empty() && !bench))
    return from_stream(bench, carried, path, carrier);
  ChosenCoil chosen = bench ? from_bench(*bench) : from_option(choice.file);
  compare_with(chosen, carried, path);
  return chosen;
}

ChosenCoil named_coil(const std::string& file) {
  if (!file.empty()) return from_option(file);
  if (const auto bench = bench_coil()) return from_bench(*bench);
  throw Error(
      Fault::usage, "no coil is named", "",
      "name its profile with --coil COIL.toml, or your bench coil once with burstloom coil use COIL.toml");
}

std::string source_of(const ChosenCoil& coil) {
  switch (coil.from) {
    case LimitsFrom::bench_coil:
      return "the bench coil";
    case LimitsFrom::coil_option:
      return "--coil " + coil.file;
    case LimitsFrom::set:
      return "the set";
    case LimitsFrom::stream_file:
      break;
  }
  return "the stream file";
}

std::string limits_line(const ChosenCoil& coil) {
  return "judged by the limits of \"" + printable(coil.profile.name) + "\" from " + source_of(coil) + ": " +
         limits_in_a_line(coil.profile);
}

std::vector<std::string> whose_limits(const ChosenCoil& coil, const std::vector<NotJudged>& not_judged) {
  std::vector<std::string> lines = {limits_line(coil)};
  lines.insert(lines.end(), coil.remarks.begin(), coil.remarks.end());
  if (coil.from == LimitsFrom::stream_file && !coil.has_bench_coil)
    lines.emplace_back(
        "no bench coil is named (burstloom coil use): whoever wove the stream chose these limits");
  lines.push_back(not_judged_line(not_judged));
  return lines;
}

// An empty stream shows which limits cannot be judged for a profile.
std::vector<std::string> whose_limits(const ChosenCoil& coil) {
  return whose_limits(coil, judge({}, coil.profile).not_judged);
}

std::string indented(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += "  " + line + "\n";
  return text;
}

nlohmann::ordered_json to_json(const ChosenCoil& coil) {
  const Limits& limits = coil.profile.limits;
  nlohmann::ordered_json json = {{"coil", coil.profile.name},
                                 {"limits_from", source_of(coil)},
                                 {"woven_for_another", coil.woven_for_another},
                                 {"overrides_bench_coil", coil.overrides_bench_coil},
                                 {"on_time_max_us", limits.on_time_max_us},
                                 {"gap_us", limits.gap_us},
                                 {"duty", nlohmann::ordered_json::array()},
                                 {"peak_current_a", nullptr}};
  for (const DutyLimit& duty : limits.duty)
    json["duty"].push_back({{"window_ms", duty.window_ms}, {"percent", duty.percent}});
  if (limits.peak_current_a) json["peak_current_a"] = *limits.peak_current_a;
  return json;
}

}  // namespace burstloom::command
