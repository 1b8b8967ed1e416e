// `burstloom coil parts`: values from measures, for those who still wind and buy.
#include "burstloom/coil/geometry.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

using Rows = std::vector<std::vector<std::string>>;

struct PartsOptions {
  std::vector<double> solenoid, spiral;
  std::optional<double> inductance_uh, topload_pf, wanted_khz;
  bool json = false;
};

void add_solenoid(const PartsOptions& options, Rows& rows, Json& json) {
  const Solenoid coil{options.solenoid[0], options.solenoid[1], options.solenoid[2]};
  const double uh = solenoid_uh(coil), self_pf = self_capacitance_pf(coil);
  const double hz = resonance_hz(uh, self_pf + options.topload_pf.value_or(0));
  rows.push_back({"solenoid, current sheet", figure(uh) + " uH"});
  json["solenoid"] = {{"inductance_uh", uh}, {"self_capacitance_pf", self_pf}, {"resonance_hz", hz}};
  if (coil.length_mm >= 0.2 * coil.diameter_mm) {
    rows.push_back({"solenoid, Wheeler 1928", figure(solenoid_by_wheeler_uh(coil)) + " uH"});
    json["solenoid"]["wheeler_uh"] = solenoid_by_wheeler_uh(coil);
  }
  rows.push_back({"self-capacitance, Medhurst",
                  figure(self_pf) + " pF (on polystyrene; air cores have up to a third less)"});
  rows.push_back(
      {options.topload_pf ? "resonance with top load" : "resonance, bare", figure(hz / 1e3) + " kHz"});
}

void add_spiral(const PartsOptions& options, Rows& rows, Json& json) {
  const Spiral coil{options.spiral[0], options.spiral[1], options.spiral[2]};
  json["spiral"] = Json::object();
  for (const auto& [shape, name] : {std::pair(SpiralShape::circle, "circle"),
                                    {SpiralShape::octagon, "octagon"},
                                    {SpiralShape::hexagon, "hexagon"},
                                    {SpiralShape::square, "square"}}) {
    const double uh = spiral_by_current_sheet_uh(coil, shape);
    rows.push_back({std::string("spiral, ") + name, figure(uh) + " uH"});
    json["spiral"][name] = uh;
  }
}

void add_tank(const PartsOptions& options, Rows& rows, Json& json) {
  if (!options.inductance_uh)
    throw Error(Fault::usage, "a frequency without an inductance", "--wanted-khz",
                "give --inductance too, in uH");
  const double nf = tank_capacitance_nf(*options.inductance_uh, *options.wanted_khz);
  rows.push_back({"tank capacitor", figure(nf) + " nF"});
  json["tank_nf"] = nf;
  json["choices"] = Json::array();
  for (const CapacitorChoice& choice : e24_choices(nf)) {
    std::string parts;
    for (const double part : choice.parts_nf)
      parts += (parts.empty()      ? ""
                : choice.in_series ? " in series with "
                                   : " beside ") +
               figure(part) + " nF";
    rows.push_back({"of the E24 series",
                    parts + " = " + figure(choice.total_nf) + " nF, " + figure(choice.off_percent) +
                        " % off, " +
                        figure(resonance_hz(*options.inductance_uh, choice.total_nf * 1e3) / 1e3) + " kHz"});
    json["choices"].push_back({{"parts_nf", choice.parts_nf},
                               {"in_series", choice.in_series},
                               {"total_nf", choice.total_nf},
                               {"off_percent", choice.off_percent}});
  }
  const double skin_um = skin_depth_um(*options.wanted_khz * 1e3);
  rows.push_back({"skin depth in copper", figure(skin_um) + " um"});
  json["skin_depth_um"] = skin_um;
}

void work_out(const PartsOptions& options, Answer& answer) {
  Rows rows;
  Json json = Json::object();
  if (!options.solenoid.empty()) add_solenoid(options, rows, json);
  if (!options.spiral.empty()) add_spiral(options, rows, json);
  if (options.wanted_khz) add_tank(options, rows, json);
  if (rows.empty())
    throw Error(Fault::usage, "nothing to work out", "", "give --solenoid, --spiral or --wanted-khz");
  answer.exit_code = 0;
  options.json ? print_json(json) : print(table(rows));
}

}  // namespace

void add_coil_parts(CLI::App& coil, Answer& answer) {
  const auto options = std::make_shared<PartsOptions>();
  auto* command =
      coil.add_subcommand("parts", "Inductance, self-capacitance and tank capacitors from measures");
  command->add_option("--solenoid", options->solenoid, "mean diameter, length (mm), turns: 110,420,1100")
      ->delimiter(',')
      ->expected(3);
  command->add_option("--topload", options->topload_pf, "capacitance on top of the solenoid, pF");
  command->add_option("--spiral", options->spiral, "inner and outer diameter (mm), turns: 60,180,7")
      ->delimiter(',')
      ->expected(3);
  command->add_option("--inductance", options->inductance_uh, "of the tank, uH");
  command->add_option("--wanted-khz", options->wanted_khz, "the tank's wanted resonance");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom coil parts --inductance 12 --wanted-khz 146");
  command->callback([options, &answer] { work_out(*options, answer); });
}

}  // namespace burstloom::command
