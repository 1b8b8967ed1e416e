#include <algorithm>
#include <cmath>
#include <cstdio>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/supply.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

// As many letters as a terminal shows for UTF-8 text: continuation bytes take no room.
std::size_t shown_width(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

void add_force(CLI::App& command, bool& force) {
  command.add_flag("--force", force, "also replace files that Burstloom did not write, or that were edited");
}
void require_nothing_lost(const std::vector<std::string>& inputs, const std::vector<Output>& outputs,
                          bool force) {
  std::vector<std::string> paths;
  for (const Output& output : outputs) paths.push_back(output.path);
  require_inputs_kept(inputs, paths);
  if (!force) require_replaceable(outputs);
}

// As CLI11 itself writes a choice that it checks.
void offer(CLI::Option& option, const std::vector<std::string>& words) {
  option.type_name("TEXT:{" + CLI::detail::join(words) + "}");
}

void add_longest(CLI::App& command, double& longest_s) {
  const auto take = [&longest_s](double minutes) {
    if (!(minutes >= 1 && minutes <= 1440))
      throw Error(Fault::usage, "--longest is " + figure(minutes), "command line",
                  "give minutes from 1 to 1440");
    longest_s = 60 * minutes;
  };
  command.add_option_function<double>(
      "--longest", take,
      "the longest song that is woven, in minutes (default: 60); bursts: 7000 "
      "per second of it at most");
}

void print_json(const Json& json) {
  const std::string text = json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
  std::fwrite(text.data(), 1, text.size(), stdout);
}
void print(const std::string& text) {
  const std::string shown = for_terminal(text, stdout);
  std::fwrite(shown.data(), 1, shown.size(), stdout);
}
std::string shown(const std::string& path) {
  return printable(path, std::string::npos);
}
void remark(const std::string& text) {
  std::fprintf(stderr, "%s\n", for_terminal(text, stderr).c_str());
}

std::string table(const std::vector<std::vector<std::string>>& rows, const std::string& indent) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], shown_width(row[i]));
  }
  std::string text;
  for (const auto& row : rows) {
    std::string line = indent;
    for (std::size_t i = 0; i < row.size(); ++i)
      line += row[i] + std::string(widths[i] - shown_width(row[i]) + 2, ' ');
    while (!line.empty() && line.back() == ' ') line.pop_back();
    text += line + "\n";
  }
  return text;
}

std::vector<std::string> supply_remarks(const BurstStream& stream, const Profile& profile) {
  std::vector<std::string> said;
  const auto current = current_table(profile);
  if (!current->has_model() || stream.bursts.empty()) return said;
  const FiguresOf figures_of = [&](Tick on) {
    return current->figures(stream.microseconds(on) + profile.drive.pulse_stretch_ns / 1e3);
  };
  const auto bus = bus_of_stream(stream, profile, figures_of);
  if (bus && figure(bus->lowest_v) != figure(bus->nominal_v))
    said.push_back("the bus droops from " + figure(bus->nominal_v) + " V to " + figure(bus->lowest_v) +
                   " V at " + clock_time(bus->lowest_at_s));
  const auto rating_w = supply_rating_w(profile);
  const auto worst = rating_w ? supply_w_above(stream, profile, figures_of, *rating_w) : std::nullopt;
  if (worst)
    said.push_back("the supply gives " + figure(*rating_w) +
                   " W for ever (bus_v times current_limit_a); the worst second wants " +
                   figure(worst->value) + " W");
  return said;
}

std::vector<std::string> model_remarks(const BurstStream* stream, const Profile& profile) {
  std::vector<std::string> said;
  if (stream != nullptr) said = supply_remarks(*stream, profile);
  for (std::string& remark : heat_remarks(profile)) said.push_back(std::move(remark));
  return said;
}

Json to_json(const Ledger& ledger) {
  Json json = {{"wanted", ledger.wanted}};
  for (std::size_t i = 0; i < kFates; ++i) json[name_of(static_cast<Fate>(i))] = ledger.count[i];
  return json;
}

}  // namespace burstloom::command
