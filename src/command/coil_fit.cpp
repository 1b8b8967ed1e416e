#include "burstloom/coil/fit.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct FitOptions {
  std::string coil, points;
  std::vector<std::string> keys;
  Bench bench;
  bool json = false;
};

void fit(const FitOptions& options, Answer& answer) {
  const Profile profile = read_profile(options.coil);
  const auto points = read_bench_points(options.points);
  const Fit found = fit_tank(profile, points, options.keys, options.bench);
  answer.exit_code = 0;
  if (options.json) {
    Json json = {{"points", points.size()},
                 {"scatter_percent", found.scatter_percent},
                 {"scatter_before_percent", found.scatter_before_percent},
                 {"values", Json::array()}};
    for (const FittedValue& it : found.values)
      json["values"].push_back({{"key", it.key},
                                {"before", it.before},
                                {"value", it.value},
                                {"uncertain_percent", it.uncertain_percent}});
    return print_json(json);
  }
  print(std::to_string(points.size()) + " points: " + figure(found.scatter_before_percent) +
        " % from the model as the profile has it, " + figure(found.scatter_percent) +
        " % from the fitted one\n");
  std::vector<std::vector<std::string>> rows = {{"value", "profile", "fitted", "uncertain by"}};
  for (const FittedValue& it : found.values)
    rows.push_back({it.key, figure(it.before), figure(it.value), figure(it.uncertain_percent) + " %"});
  print(table(rows));
  print("the profile was not changed: put in what you trust, then burstloom coil show " +
        shown(options.coil) + "\n");
}

}  // namespace

void add_coil_fit(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<FitOptions>();
  auto* command = coil.add_subcommand("fit", "Fits the tank's values to peaks measured on the bench");
  command->add_option("COIL", options->coil, "the profile, with first guesses")->required();
  command
      ->add_option("--points", options->points,
                   "CSV: on_time_us,peak_current_a and, if you like, loaded (yes or no)")
      ->required();
  command->add_option("--fit", options->keys, "only these values: primary.inductance_uh,secondary.coupling")
      ->delimiter(',');
  command->add_option("--bus", options->bench.bus_v, "the bus while measuring, V (default: the profile's)");
  command->add_option("--decay", options->bench.decay_us,
                      "time constant of the primary's decay, secondary out, bridge shorted, us");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom coil fit coil.toml --points bench.csv --bus 30");
  command->callback([options, &answer] { fit(*options, answer); });
}

}  // namespace burstloom::command
