#include <algorithm>
#include <cmath>
#include <cstdio>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/supply.hpp"
#include "burstloom/common/error.hpp"
#include "command_line.hpp"

namespace burstloom::command {
namespace {

// As many letters as a terminal shows for UTF-8 text: continuation bytes take no room.
std::size_t shown_width(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::string with_unit(double value, const std::string& unit) {
  return figure(value) + " " + unit;
}

std::string margin_of(const LimitResult& limit) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f %%", limit.margin_percent);
  return text;
}

const LimitResult* tightest(const Judgement& judgement) {
  const auto smallest = std::min_element(
      judgement.limits.begin(), judgement.limits.end(),
      [](const LimitResult& a, const LimitResult& b) { return a.margin_percent < b.margin_percent; });
  return smallest == judgement.limits.end() ? nullptr : &*smallest;
}

std::string state_of(const LimitResult& limit) {
  return limit.held ? "" : limit.unsure ? "cannot tell" : "PASSED";
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

namespace {

void write(const std::string& text, std::FILE* to) {
  std::fwrite(text.data(), 1, text.size(), to);
}

}  // namespace

void print_json(const Json& json) {
  write(json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n", stdout);
}
// Whatever a name from a file holds: a terminal obeys none of it.
void print(const std::string& text) {
  write(printable_lines(text), stdout);
}
std::string shown(const std::string& path) {
  return printable(path, std::string::npos);
}
void remark(const std::string& text) {
  write(printable_lines(text) + "\n", stderr);
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

Json to_json(const Judgement& judgement, const Extent& extent) {
  Json json;
  json["verdict"] = name_of(judgement.verdict);
  json["not_judged"] = Json::array();
  json["not_judged_why"] = Json::object();
  for (const NotJudged& missing : judgement.not_judged) {
    json["not_judged"].push_back(missing.limit);
    json["not_judged_why"][missing.limit] = missing.why;
  }
  json["stream"] = {{"bursts", extent.bursts}, {"tick_hz", extent.tick_hz}, {"length_s", extent.length_s()}};
  json["limits"] = Json::array();
  for (const LimitResult& limit : judgement.limits)
    json["limits"].push_back({{"limit", limit.limit},
                              {"worst", limit.worst},
                              {"allowed", limit.allowed},
                              {"unit", limit.unit},
                              {"at_s", limit.at_s},
                              {"held", limit.held},
                              {"unsure", limit.unsure},
                              {"in_stream", limit.in_stream},
                              {"margin_percent", limit.margin_percent}});
  json["violations"] = Json::array();
  for (const Violation& violation : judgement.violations)
    json["violations"].push_back({{"limit", violation.limit},
                                  {"at_s", violation.at_s},
                                  {"value", violation.value},
                                  {"allowed", violation.allowed},
                                  {"unit", violation.unit}});
  json["violations_in_all"] = judgement.violations_in_all;
  json["tolerance_us"] = judgement.tolerance_us;
  json["rest_before_repeat_s"] =
      judgement.rest_before_repeat_s ? Json(*judgement.rest_before_repeat_s) : Json();
  json["may_loop"] = judgement.rest_before_repeat_s == 0.0;
  json["remarks"] = judgement.remarks;
  return json;
}

std::vector<std::string> supply_remarks(const BurstStream& stream, const Profile& profile) {
  std::vector<std::string> said;
  const auto current = current_table(profile);
  if (!current->has_model() || stream.bursts.empty()) return said;
  const FiguresOf figures_of = [&](Tick on) {
    return current->figures(stream.microseconds(on) + profile.drive.pulse_stretch_ns / 1e3);
  };
  if (const auto bus = bus_of_stream(stream, profile, figures_of))
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

Json to_json(const NoteCounts& notes) {
  return {{"read", notes.read},
          {"played", notes.played},
          {"skipped", notes.skipped},
          {"folded", notes.folded},
          {"stolen", notes.stolen}};
}

std::string one_line(const Judgement& judgement) {
  std::string line = name_of(judgement.verdict);
  if (judgement.tolerance_us > 0) line += " (edges known to " + figure(judgement.tolerance_us) + " us)";
  if (judgement.verdict != Verdict::within_limits && !judgement.violations.empty()) {
    const Violation& first = judgement.violations.front();
    line += ": " + first.limit + " is " + with_unit(first.value, first.unit) + " at " +
            clock_time(first.at_s) + ", allowed " + with_unit(first.allowed, first.unit) + "; " +
            grouped(judgement.violations_in_all) +
            (judgement.violations_in_all == 1 ? " violation" : " violations") + " in all";
  } else if (const LimitResult* limit = tightest(judgement)) {
    line += ", smallest margin " + margin_of(*limit) + " (" + limit->limit + " at " +
            clock_time(limit->at_s) + ")";
  }
  return line;
}

std::string describe(const Judgement& judgement) {
  std::vector<std::vector<std::string>> rows = {{"limit", "worst", "allowed", "margin", "at", ""}};
  for (const LimitResult& limit : judgement.limits)
    rows.push_back({limit.limit, with_unit(limit.worst, limit.unit), with_unit(limit.allowed, limit.unit),
                    margin_of(limit), clock_time(limit.at_s), state_of(limit)});
  std::string text = table(rows);
  constexpr std::size_t kShown = 5;
  for (std::size_t i = 0; i < std::min(kShown, judgement.violations.size()); ++i) {
    const Violation& it = judgement.violations[i];
    text += "  passed at " + clock_time(it.at_s) + ": " + it.limit + " " + with_unit(it.value, it.unit) +
            ", allowed " + with_unit(it.allowed, it.unit) + "\n";
  }
  if (judgement.violations_in_all > static_cast<std::int64_t>(kShown))
    text += "  and " + grouped(judgement.violations_in_all - static_cast<std::int64_t>(kShown)) + " more\n";
  for (const NotJudged& missing : judgement.not_judged)
    text += "  not judged: " + missing.limit + " (" + missing.why + ")\n";
  for (const std::string& it : judgement.remarks) text += "  " + it + "\n";
  if (judgement.rest_before_repeat_s)
    text += *judgement.rest_before_repeat_s == 0.0 ? "  may play in a loop, as far as the judged limits go\n"
                                                   : "  before it may start again: a rest of at least " +
                                                         figure(*judgement.rest_before_repeat_s) + " s\n";
  return text;
}

}  // namespace burstloom::command
