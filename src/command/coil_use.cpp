#include <filesystem>

#include "bench_coil.hpp"
#include "burstloom/coil/limits_line.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct UseOptions {
  std::string coil;
  bool none = false, json = false;
};

Json to_json(const std::optional<BenchCoil>& bench) {
  if (!bench) return {{"bench_coil", nullptr}};
  return {{"bench_coil",
           {{"name", bench->profile.name},
            {"copy", bench_coil_path()},
            {"original", bench->original},
            {"original_has_changed", has_changed(*bench)}}}};
}

std::string state_of_original(const BenchCoil& bench) {
  std::error_code ignored;
  if (!std::filesystem::exists(bench.original, ignored)) return ", which is not there any more";
  return has_changed(bench) ? ", which has changed since: use it again to take the change over" : "";
}

std::string described(const std::optional<BenchCoil>& bench) {
  if (!bench)
    return "no bench coil is named: streams are judged by the limits in their own files\n"
           "  burstloom coil use COIL.toml names one\n";
  return "the bench coil is \"" + printable(bench->profile.name) + "\": " + limits_in_a_line(bench->profile) +
         "\n  a copy of " + shown(bench->original) + state_of_original(*bench) +
         "\n  commands without --coil judge by it\n";
}

void use(const UseOptions& options, Answer& answer) {
  answer.exit_code = 0;
  if (options.none) {
    const bool there_was_one = forget_bench_coil();
    if (options.json) return print_json(to_json(std::nullopt));
    return print(there_was_one ? "the bench coil is forgotten\n" : "there was no bench coil\n");
  }
  const std::optional<BenchCoil> bench = options.coil.empty() ? bench_coil() : use_bench_coil(options.coil);
  if (options.json) return print_json(to_json(bench));
  print(described(bench));
}

}  // namespace

void add_coil_use(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<UseOptions>();
  auto* command = coil.add_subcommand(
      "use", "Names the bench coil, by whose limits streams are judged; without COIL says which it is");
  auto* file =
      command->add_option("COIL", options->coil, "the profile of the coil on your bench; it is copied");
  command->add_flag("--none", options->none, "forget the bench coil")->excludes(file);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom coil use coil.toml");
  command->callback([options, &answer] { use(*options, answer); });
}

}  // namespace burstloom::command
