#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/outlook.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/preview/coil_picture.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

using Rows = std::vector<std::vector<std::string>>;

struct ShowOptions {
  std::string coil, plot;
  std::vector<double> on_times_us;
  bool json = false, force = false;
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

Rows limit_rows(const Profile& profile) {
  const Limits& limits = profile.limits;
  Rows rows = {{"on-time", figure(limits.on_time_min_us) + " to " + figure(limits.on_time_max_us) + " µs"},
               {"gap", limits.gap_us > 0 ? "at least " + figure(limits.gap_us) + " µs" : "none needed"}};
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

// The longest burst and a few shorter ones: what limits count with, and single bursts as simulated.
std::vector<double> telling_on_times(const Profile& profile) {
  const CommandLimits command = command_limits(profile);
  std::vector<double> times;
  for (const double part : {0.1, 0.25, 0.5, 1.0})
    if (const double on_us = command.on_time_max_us * part; on_us >= command.on_time_min_us)
      times.push_back(on_us);
  return times;
}

Rows burst_rows(const Profile& profile) {
  Rows rows = {{"on-time", "peak", "energy", "peak, no streamers", "energy", "limits count with", "margin"}};
  const auto current = current_table(profile);
  const auto times = telling_on_times(profile);
  const auto bursts = burst_outlook(profile, times);
  for (std::size_t i = 0; i < times.size(); ++i) {
    const BurstOutlook &loaded = bursts[2 * i], &unloaded = bursts[2 * i + 1];
    const double counted_a = current->peak_current_a(times[i]).value_or(0);
    const auto& limit = profile.limits.peak_current_a;
    rows.push_back({figure(times[i]) + " µs", figure(loaded.peak_current_a) + " A",
                    figure(loaded.energy_j * 1e3) + " mJ", figure(unloaded.peak_current_a) + " A",
                    figure(unloaded.energy_j * 1e3) + " mJ", figure(counted_a) + " A",
                    limit ? figure(100 * (*limit - counted_a) / *limit) + " %" : "no limit"});
  }
  return rows;
}

Rows point_rows(const Profile& profile) {
  Rows rows = {{"on-time", "measured", "model", "off by"}};
  const auto beside = current_table(profile)->points_beside_model();
  for (std::size_t i = 0; i < profile.measured->on_time_us.size(); ++i) {
    const double on_us = profile.measured->on_time_us[i];
    rows.push_back(
        {figure(on_us) + " µs", figure(profile.measured->peak_current_a[i]) + " A", "not told", ""});
    for (const PointBesideModel& point : beside)
      if (point.on_time_us == on_us)
        rows.back() = {figure(on_us) + " µs", figure(point.measured_a) + " A", figure(point.model_a) + " A",
                       figure(point.off_percent()) + " %"};
  }
  return rows;
}

std::string said(const std::vector<Mode>& modes) {
  std::string text;
  for (const Mode& mode : modes)
    text += (text.empty() ? "" : ", ") + figure(mode.frequency_hz / 1e3) + " kHz (decays in " +
            figure(mode.decay_s * 1e6) + " µs)";
  return text;
}

Rows tank_rows(const Outlook& outlook) {
  Rows rows;
  if (outlook.primary) {
    const Tank& tank = *outlook.primary;
    rows.push_back({"primary alone", figure(tank.resonance_hz / 1e3) + " kHz, Z0 " +
                                         figure(tank.impedance_ohm) + " ohm, Q " + figure(tank.quality) +
                                         ", rings up in " + figure(tank.ring_up_s * 1e6) + " µs"});
  }
  if (outlook.secondary_hz) rows.push_back({"secondary alone", figure(*outlook.secondary_hz / 1e3) + " kHz"});
  rows.push_back({"poles, no streamers", said(outlook.modes)});
  rows.push_back({"poles, streamers", said(outlook.modes_loaded)});
  rows.push_back({"ring-down", figure(outlook.ring_down_s * 1e6) + " µs; after the shortest gap up to " +
                                   figure(outlook.residual_a) + " A are left"});
  return rows;
}

Rows steady_rows(const Outlook& outlook) {
  Rows rows = {{"break rate", "longest on-time", "duty", "held by"}};
  for (const SteadyNote& note : outlook.steady)
    rows.push_back({figure(note.rate_hz) + " Hz", figure(note.on_time_us) + " µs",
                    figure(note.duty_percent) + " %", note.bound_by});
  return rows;
}

Rows sensitivity_rows(const Outlook& outlook) {
  Rows rows = {{"when this is off", "the longest burst's peak moves by"}};
  for (const Sensitivity& it : outlook.sensitivities)
    rows.push_back({it.value, figure(it.change_percent) + " %"});
  return rows;
}

Json to_json(const std::vector<Mode>& modes) {
  Json json = Json::array();
  for (const Mode& mode : modes)
    json.push_back({{"frequency_hz", mode.frequency_hz}, {"decay_s", mode.decay_s}});
  return json;
}

Json to_json(const std::vector<BurstOutlook>& bursts) {
  Json json = Json::array();
  for (const BurstOutlook& burst : bursts)
    json.push_back({{"on_time_us", burst.on_time_us},
                    {"peak_current_a", burst.peak_current_a},
                    {"energy_j", burst.energy_j},
                    {"i2t_a2s", burst.i2t_a2s},
                    {"loaded", burst.loaded}});
  return json;
}

Json to_json(const Outlook& outlook) {
  Json json;
  if (outlook.primary)
    json["primary_tank"] = {{"resonance_hz", outlook.primary->resonance_hz},
                            {"impedance_ohm", outlook.primary->impedance_ohm},
                            {"quality", outlook.primary->quality},
                            {"ring_up_s", outlook.primary->ring_up_s}};
  json["secondary_hz"] = outlook.secondary_hz ? Json(*outlook.secondary_hz) : Json();
  json["poles"] = {{"unloaded", to_json(outlook.modes)}, {"loaded", to_json(outlook.modes_loaded)}};
  json["ring_down_s"] = outlook.ring_down_s;
  json["residual_a"] = outlook.residual_a;
  json["detuned_peak_a"] = outlook.detuned_peak_a ? Json(*outlook.detuned_peak_a) : Json();
  json["steady"] = Json::array();
  for (const SteadyNote& note : outlook.steady)
    json["steady"].push_back({{"rate_hz", note.rate_hz},
                              {"on_time_us", note.on_time_us},
                              {"duty_percent", note.duty_percent},
                              {"held_by", note.bound_by}});
  json["sensitivities"] = Json::array();
  for (const Sensitivity& it : outlook.sensitivities)
    json["sensitivities"].push_back({{"value", it.value}, {"peak_change_percent", it.change_percent}});
  json["warnings"] = outlook.warnings;
  json["why_no_model"] = outlook.why_no_model;
  return json;
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
  add("tank_capacitor_v", profile.limits.tank_capacitor_v);
  add("tank_capacitor_a_rms", profile.limits.tank_capacitor_a_rms);
  add("switch_v", profile.limits.switch_v);
  add("junction_c", profile.limits.junction_c);
  add("heatsink_c", profile.limits.heatsink_c);
  add("supply_w", profile.limits.supply_w);
  json["commanded"] = {{"on_time_min_us", command.on_time_min_us},
                       {"on_time_max_us", command.on_time_max_us},
                       {"gap_us", command.gap_us},
                       {"bound_by", name_of(command.bound_by)}};
  json["measured"] = Json::array();
  if (profile.measured)
    for (const double on_us : profile.measured->on_time_us) {
      const auto peak_a = peak_current_a(profile, on_us);  // none for points past the longest burst
      json["measured"].push_back({{"on_time_us", on_us},
                                  {"peak_current_a", peak_a ? Json(*peak_a) : Json()},
                                  {"loaded", profile.measured->loaded}});
    }
  json["not_judged"] = Json::array();
  for (const NotJudged& missing : not_judged(profile)) json["not_judged"].push_back(missing.limit);
  json["remarks"] = heat_remarks(profile);
  return json;
}

void show(const ShowOptions& options, Answer& answer) {
  const Profile profile = read_profile(options.coil);
  answer.exit_code = 0;
  require_nothing_lost({options.coil}, {{options.plot, OutputKind::picture}}, options.force);
  if (!options.plot.empty()) write_file(options.plot, coil_picture(profile, picture_kind(options.plot)));
  if (options.json) {
    Json json = to_json(profile);
    json.update(to_json(outlook(profile)));
    if (!options.on_times_us.empty()) json["bursts"] = to_json(burst_outlook(profile, options.on_times_us));
    return print_json(json);
  }
  if (!options.on_times_us.empty()) {
    Rows rows = {{"on-time", "streamers", "peak", "energy", "integral of i^2"}};
    for (const BurstOutlook& burst : burst_outlook(profile, options.on_times_us))
      rows.push_back({figure(burst.on_time_us) + " µs", burst.loaded ? "yes" : "no",
                      figure(burst.peak_current_a) + " A", figure(burst.energy_j * 1e3) + " mJ",
                      figure(burst.i2t_a2s) + " A2s"});
    return print("single bursts from rest at the highest bus\n" + table(rows));
  }
  const CommandLimits command = command_limits(profile);
  print("\"" + profile.name + "\": " + name_of(profile.drive.bridge) + ", " + name_of(profile.drive.primary) +
        (profile.drive.bus_v ? ", bus " + figure(*profile.drive.bus_v) + " V" : "") + ", " +
        std::to_string(profile.voices) + " voices\nlimits\n" + table(limit_rows(profile)));
  print("what a stream may command (clock +-" + figure(profile.drive.clock_tolerance_percent) +
        " %, stretch " + figure(profile.drive.pulse_stretch_ns) + " ns)\n" +
        table({{"on-time", figure(command.on_time_min_us) + " to " + figure(command.on_time_max_us) + " µs" +
                               (command.bound_by == LongestBurst::on_time_max
                                    ? ""
                                    : std::string(", held down by ") + name_of(command.bound_by))},
               {"gap", "at least " + figure(command.gap_us) + " µs"}}));
  const Outlook seen = outlook(profile);
  if (seen.why_no_model.empty()) {
    print("tanks\n" + table(tank_rows(seen)));
    print("single bursts at the highest bus, streamers or none\n" + table(burst_rows(profile)));
  } else {
    print("no model of the primary current: " + seen.why_no_model + "\n");
  }
  if (profile.measured)
    print(std::string("bench points, ") + (profile.measured->loaded ? "streamers" : "no streamers") +
          ", beside the model\n" + table(point_rows(profile)));
  print("a note that never ends\n" + table(steady_rows(seen)));
  if (!seen.sensitivities.empty()) print("tuning\n" + table(sensitivity_rows(seen)));
  for (const std::string& warning : seen.warnings) print("  warning: " + warning + "\n");
  for (const NotJudged& missing : not_judged(profile))
    print("  not judged: " + missing.limit + " (" + missing.why + ")\n");
  for (const std::string& remark : heat_remarks(profile)) print("  " + remark + "\n");
}

}  // namespace

void add_coil_show(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<ShowOptions>();
  auto* command = coil.add_subcommand("show", "The profile and what follows from it");
  command->add_option("COIL", options->coil, "the profile")->required();
  command->add_option("--on-time", options->on_times_us, "only bursts of these lengths, us: 10,20,50")
      ->delimiter(',');
  command->add_option("--plot", options->plot,
                      "also draw current against time and on-time against break rate, .svg or .png");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom coil show coil.toml");
  command->callback([options, &answer] { show(*options, answer); });
}

}  // namespace burstloom::command
