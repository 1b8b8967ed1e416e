#include <filesystem>

#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

struct CoilOptions {
  std::string coil, out;
  bool json = false;
};

const char* name_of(Bridge bridge) {
  return bridge == Bridge::half ? "half bridge" : bridge == Bridge::full ? "full bridge" : "push-pull";
}
const char* name_of(PrimaryKind kind) {
  return kind == PrimaryKind::series_resonant ? "series-resonant primary"
         : kind == PrimaryKind::untuned       ? "untuned primary"
                                              : "current-fed primary";
}

// An empty stream shows which limits cannot be judged for this profile.
std::vector<NotJudged> not_judged(const Profile& profile) {
  return judge({}, profile).not_judged;
}

std::vector<std::vector<std::string>> limit_rows(const Profile& profile) {
  const Limits& limits = profile.limits;
  std::vector<std::vector<std::string>> rows = {
      {"on-time", figure(limits.on_time_min_us) + " to " + figure(limits.on_time_max_us) + " us"},
      {"gap", limits.gap_us > 0 ? "at least " + figure(limits.gap_us) + " us" : "none needed"}};
  for (const DutyLimit& duty : limits.duty)
    rows.push_back({"duty", figure(duty.percent) + " % of any " + figure(duty.window_ms) + " ms"});
  const auto add = [&](const char* name, const std::optional<double>& value, const char* unit) {
    if (value) rows.push_back({name, "at most " + figure(*value) + " " + unit});
  };
  add("break rate", limits.break_rate_hz, "Hz");
  add("peak current", limits.peak_current_a, "A");
  add("tank capacitor", limits.tank_capacitor_v, "V peak");
  add("tank capacitor", limits.tank_capacitor_a_rms, "A rms");
  add("switch voltage", limits.switch_v, "V");
  add("junction", limits.junction_c, "C");
  add("heatsink", limits.heatsink_c, "C");
  add("supply", limits.supply_w, "W over 1 s");
  return rows;
}

std::vector<std::vector<std::string>> current_rows(const Profile& profile) {
  std::vector<std::vector<std::string>> rows = {{"on-time", "peak, highest bus", "margin"}};
  for (const double on_us : profile.measured->on_time_us) {
    const double current = peak_current_a(profile, on_us).value_or(0);
    const auto& limit = profile.limits.peak_current_a;
    rows.push_back({figure(on_us) + " us", figure(current) + " A",
                    limit ? figure(100 * (*limit - current) / *limit) + " %" : "no limit"});
  }
  return rows;
}

Json to_json(const Profile& profile) {
  const CommandLimits command = command_limits(profile);
  Json json;
  json["name"] = profile.name;
  json["bridge"] = name_of(profile.drive.bridge);
  json["primary"] = name_of(profile.drive.primary);
  json["voices"] = profile.voices;
  json["limits"] = {
      {"on_time_us", {{"min", profile.limits.on_time_min_us}, {"max", profile.limits.on_time_max_us}}},
      {"gap_us", profile.limits.gap_us},
      {"duty", Json::array()}};
  for (const DutyLimit& duty : profile.limits.duty)
    json["limits"]["duty"].push_back({{"window_ms", duty.window_ms}, {"percent", duty.percent}});
  const auto add = [&](const char* name, const std::optional<double>& value) {
    json["limits"][name] = value ? Json(*value) : Json();
  };
  add("break_rate_hz", profile.limits.break_rate_hz);
  add("peak_current_a", profile.limits.peak_current_a);
  add("junction_c", profile.limits.junction_c);
  add("heatsink_c", profile.limits.heatsink_c);
  add("supply_w", profile.limits.supply_w);
  json["commanded"] = {{"on_time_min_us", command.on_time_min_us},
                       {"on_time_max_us", command.on_time_max_us},
                       {"gap_us", command.gap_us},
                       {"bound_by", name_of(command.bound_by)}};
  json["measured"] = Json::array();
  if (profile.measured && peak_current_a(profile, 0))
    for (const double on_us : profile.measured->on_time_us)
      json["measured"].push_back({{"on_time_us", on_us},
                                  {"peak_current_a", *peak_current_a(profile, on_us)},
                                  {"loaded", profile.measured->loaded}});
  json["not_judged"] = Json::array();
  for (const NotJudged& missing : not_judged(profile)) json["not_judged"].push_back(missing.limit);
  return json;
}

void show(const CoilOptions& options, Answer& answer) {
  const Profile profile = read_profile(options.coil);
  answer.exit_code = 0;
  if (options.json) return print_json(to_json(profile));
  const CommandLimits command = command_limits(profile);
  print("\"" + profile.name + "\": " + name_of(profile.drive.bridge) + ", " + name_of(profile.drive.primary) +
        (profile.drive.bus_v ? ", bus " + figure(*profile.drive.bus_v) + " V" : "") + ", " +
        std::to_string(profile.voices) + " voices\nlimits\n" + table(limit_rows(profile)));
  print("what a stream may command (clock +-" + figure(profile.drive.clock_tolerance_percent) +
        " %, stretch " + figure(profile.drive.pulse_stretch_ns) + " ns)\n" +
        table({{"on-time", figure(command.on_time_min_us) + " to " + figure(command.on_time_max_us) + " us" +
                               (command.bound_by == LongestBurst::on_time_max
                                    ? ""
                                    : std::string(", held down by ") + name_of(command.bound_by))},
               {"gap", "at least " + figure(command.gap_us) + " us"}}));
  if (profile.measured && peak_current_a(profile, 0))
    print(std::string("measured current, ") + (profile.measured->loaded ? "with streamers" : "no streamers") +
          "\n" + table(current_rows(profile)));
  for (const NotJudged& missing : not_judged(profile))
    print("  not judged: " + missing.limit + " (" + missing.why + ")\n");
}

void make_new(const CoilOptions& options, Answer& answer) {
  answer.exit_code = 0;
  if (options.out.empty()) return print(profile_to_fill_in());
  if (std::filesystem::exists(options.out))
    throw Error(Fault::usage, "there is a file of that name already", printable(options.out, 200),
                "choose another name; nothing was changed");
  write_file(options.out, profile_to_fill_in());
  print("written: " + options.out + "\nfill it in, then: burstloom coil show " + options.out + "\n");
}

}  // namespace

void add_coil(CLI::App& app, Answer& answer) {
  auto* coil = app.add_subcommand("coil", "The coil's profile: what it is and what it survives");
  coil->require_subcommand(1);
  coil->footer("Example:\n  burstloom coil show coil.toml");
  const auto options = std::make_shared<CoilOptions>();
  auto* show_command = coil->add_subcommand("show", "The profile and what follows from it");
  show_command->add_option("COIL", options->coil, "the profile")->required();
  show_command->add_flag("--json", options->json, "one JSON object instead of words");
  show_command->footer("Example:\n  burstloom coil show coil.toml");
  show_command->callback([options, &answer] { show(*options, answer); });
  auto* new_command = coil->add_subcommand("new", "Writes a commented profile to fill in");
  new_command->add_option("--out", options->out, "the file to write (default: standard output)");
  new_command->footer("Example:\n  burstloom coil new --out coil.toml");
  new_command->callback([options, &answer] { make_new(*options, answer); });
}

}  // namespace burstloom::command
