// `burstloom set`: a whole evening.
#include <algorithm>
#include <filesystem>
#include <thread>

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"
#include "burstloom/sets/build.hpp"
#include "burstloom/sets/pages.hpp"
#include "burstloom/sets/set_json.hpp"
#include "command_line.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct SetOptions {
  std::string file, out, out_plan, starts_at;
  int jobs = 0;
  double longest_s = kLongestSong_s;
  bool plan = false, no_previews = false, json = false, force = false;
};

std::string name_of_song(const BuiltSong& song) {
  constexpr std::size_t kShown = 24;
  return printable(song.title.empty() ? song.stem : song.title, kShown);
}

// Of what the coil has to bear: bursts as long and as close as they may be are no news.
const LimitResult* tightest_burden(const Judgement& judgement) {
  const LimitResult* least = nullptr;
  for (const LimitResult& limit : judgement.limits) {
    if (limit.limit == "gap" || limit.limit.starts_with("on-time")) continue;
    if (least == nullptr || limit.margin_percent < least->margin_percent) least = &limit;
  }
  return least;
}

std::vector<std::string> row_of(const BuiltSong& song, bool is_last) {
  const LimitResult* limit = tightest_burden(song.judgement);
  return {std::to_string(song.number),
          name_of_song(song),
          hours(song.start_s),
          hours(song.length_s),
          is_last ? "" : in_tenths(song.pause_after_s),
          song.highest ? in_tenths(song.highest->sink_c) : "-",
          song.highest ? in_tenths(song.highest->junction_c) : "-",
          limit != nullptr ? in_tenths(limit->margin_percent) + " " + limit->limit : "",
          song.turned_down ? "*" : ""};
}

std::string say_turned_down(const BuiltSong& song) {
  const auto said = [](const LedgerCounts& ledger) {
    return grouped(ledger[Fate::shortened]) + " shortened, " + grouped(ledger[Fate::shifted]) + " shifted, " +
           grouped(ledger[Fate::dropped]) + " dropped";
  };
  return "  * song " + std::to_string(song.number) + " was turned down for its warm start; of " +
         grouped(song.ledger.wanted) + " bursts\n    " + said(song.ledger) +
         "\n    from cold: " + said(song.ledger_from_cold) + "\n";
}

std::string summary(const BuiltSet& set) {
  std::vector<std::vector<std::string>> rows = {
      {"", "song", "start", "length", "pause", "sink °C", "jct °C", "margin %", ""}};
  double pauses_s = 0;
  for (const BuiltSong& song : set.songs) {
    const bool is_last = &song == &set.songs.back();
    rows.push_back(row_of(song, is_last));
    if (!is_last) pauses_s += song.pause_after_s;
  }
  std::string text = "\"" + printable(set.name, 36) + "\" for \"" + printable(set.coil_name, 36) + "\"\n" +
                     std::to_string(set.songs.size()) + " songs in " + hours(set.length_s) + ", " +
                     hours(pauses_s) + " of it pauses; heatsink at " + in_tenths(set.start_c) +
                     " °C at the start\n" + table(rows);
  for (const BuiltSong& song : set.songs)
    if (song.turned_down) text += say_turned_down(song);
  text += "the evening as one stream: " + one_line(set.evening) + "\n";
  if (set.evening.rest_before_repeat_s == 0.0)
    text += "  it may play again at once, and for ever\n";
  else if (set.evening.rest_before_repeat_s)
    text += "  it may start again after a rest of " + hours(*set.evening.rest_before_repeat_s + 0.499) + "\n";
  else if (set.evening.verdict == Verdict::within_limits)
    text += "  it may not start again: no day of rest is enough\n";
  else
    text += "  longer pauses may mend it: --plan proposes them\n";
  for (const NotJudged& missing : set.evening.not_judged)
    text += "  not judged: " + missing.limit + " (" + missing.why + ")\n";
  for (const std::string& remark : set.remarks) text += "  " + remark + "\n";
  return text;
}

std::string say_order(const BuiltSet& set, const OrderPlan& plan) {
  std::vector<std::vector<std::string>> rows = {{"place", "song", "", "pause after it, s", "in the file, s"}};
  for (std::size_t i = 0; i < plan.order.size(); ++i) {
    const BuiltSong& song = set.songs[static_cast<std::size_t>(plan.order[i] - 1)];
    const bool is_last = i + 1 == plan.order.size();
    rows.push_back({std::to_string(i + 1), std::to_string(song.number), name_of_song(song),
                    is_last ? "" : in_tenths(plan.pause_after_s[i]), in_tenths(song.pause_after_s)});
  }
  std::string text = table(rows);
  for (const std::string& why : plan.impossible) text += "  " + why + "\n";
  return text + "  pauses " + hours(plan.pauses_s) + ", the evening " + hours(plan.length_s) + "\n";
}

std::string say_plan(const BuiltSet& set) {
  if (!set.plan) return "no plan: the profile does not tell heat\n";
  const SetPlan& plan = *set.plan;
  std::string text =
      "shortest pauses with which no song is turned down, in this order:\n" + say_order(set, plan.as_ordered);
  for (const SongMove& move : plan.moves)
    text += "  move song " + std::to_string(move.song) + " (" +
            name_of_song(set.songs[static_cast<std::size_t>(move.song - 1)]) + ") to place " +
            std::to_string(move.to_place) + ": saves about " + in_tenths(move.saves_s) + " s of pauses\n";
  if (plan.reordered) return text + "after that:\n" + say_order(set, *plan.reordered);
  return text + "  no other order that was tried wants less\n";
}

void require_new(const std::string& path) {
  std::error_code ignored;
  if (std::filesystem::exists(path, ignored))
    throw Error(Fault::usage, "this file is there already", printable(path, 200),
                "give --out-plan a new name, or replace the file with --force");
}

const OrderPlan& better_of(const SetPlan& plan) {
  return plan.reordered ? *plan.reordered : plan.as_ordered;
}

bool is_worth_writing(const BuiltSet& set) {
  return set.plan && better_of(*set.plan).impossible.empty();
}

// The better plan as a set of its own, its paths as seen from where it will stand.
void write_plan(const SetFile& set, const SetPlan& plan, const std::string& path) {
  const OrderPlan& chosen = better_of(plan);
  const auto folder = std::filesystem::absolute(path).parent_path();
  const auto seen_from_there = [&](const std::string& named) {
    if (named.empty() || std::filesystem::path(named).is_absolute()) return named;
    return std::filesystem::absolute(set.path_of(named))
        .lexically_normal()
        .lexically_relative(folder)
        .string();
  };
  SetFile planned = set;
  planned.coil = seen_from_there(set.coil);
  planned.songs.clear();
  for (std::size_t i = 0; i < chosen.order.size(); ++i) {
    SetSong song = set.songs[static_cast<std::size_t>(chosen.order[i] - 1)];
    song.file = seen_from_there(song.file);
    song.arrangement = seen_from_there(song.arrangement);
    song.pause_s = chosen.pause_after_s[i];
    planned.songs.push_back(std::move(song));
  }
  write_file(path, to_toml(planned,
                           "Proposed by `burstloom set --plan`: the shortest pauses that the limits allow. A "
                           "prediction is no permission."));
}

Json json_of(const SetBuild& built) {
  Json json = Json::parse(to_set_json(built.set));
  json["verdict"] = name_of(built.set.evening.verdict);
  json["work"] = {
      {"woven", built.work.woven}, {"judged", built.work.judged}, {"written", built.work.written}};
  json["strays"] = built.strays;
  return json;
}

std::vector<std::string> files_read_by(const SetFile& set, const std::string& path) {
  std::vector<std::string> files = {path, set.path_of(set.coil)};
  for (const SetSong& song : set.songs)
    files.insert(files.end(), {set.path_of(song.file), set.path_of(song.arrangement)});
  return files;
}

int jobs_of(const SetOptions& options) {
  if (options.jobs > 0) return options.jobs;
  return static_cast<int>(std::clamp(std::thread::hardware_concurrency(), 1U, 64U));
}

// "20:30" as minutes from 0:00.
int minutes_of_clock(const std::string& text) {
  const auto digit = [&](std::size_t at) {
    return text[at] >= '0' && text[at] <= '9' ? text[at] - '0' : 100;
  };
  const bool is_shaped = text.size() == 5 && text[2] == ':';
  const int hour = is_shaped ? 10 * digit(0) + digit(1) : 24,
            minute = is_shaped ? 10 * digit(3) + digit(4) : 60;
  if (hour > 23 || minute > 59)
    throw Error(Fault::usage, "'" + printable(text, 40) + "' is no time of day", "--starts-at",
                "give hours and minutes, as 20:30");
  return 60 * hour + minute;
}

std::vector<SetPage> pages_of(const SetOptions& options) {
  SheetOptions sheet;
  if (!options.starts_at.empty()) sheet.starts_at_min = minutes_of_clock(options.starts_at);
  return {{"evening.html", "", evening_page}, {"sheet.html", options.starts_at, [sheet](const BuiltSet& set) {
                                                 return operators_sheet(set, sheet);
                                               }}};
}

void build(const SetOptions& options, Answer& answer) {
  if (!options.out_plan.empty() && !options.plan)
    throw Error(Fault::usage, "there is no plan to write", "--out-plan", "ask for one with --plan");
  if (!options.out_plan.empty() && !options.force) require_new(options.out_plan);
  const SetFile file = read_set(options.file);
  require_inputs_kept(files_read_by(file, options.file), {options.out_plan});
  StatusLine status;
  BuildOptions how{.jobs = jobs_of(options),
                   .folder = options.out,
                   .force = options.force,
                   .made_by = this_program("burstloom " BURSTLOOM_VERSION),
                   .longest_s = options.longest_s,
                   .plan = options.plan,
                   .preview = {},
                   .pages = pages_of(options),
                   .tell = [&](double part, const std::string& step) { status.show(part, step); }};
  if (!options.no_previews)
    how.preview = [](const BurstFile& song, const Profile& profile) {
      return preview_page(song.title, song, profile);
    };
  const SetBuild built = build_set(file, how);
  status.done();
  const BuiltSet& set = built.set;
  const bool plan_is_asked_for = !options.out_plan.empty(),
             plan_is_written = plan_is_asked_for && is_worth_writing(set);
  if (plan_is_written) write_plan(file, *set.plan, options.out_plan);
  answer.exit_code =
      set.evening.verdict == Verdict::within_limits && plan_is_written == plan_is_asked_for ? 0 : 1;
  if (options.json) {
    Json json = json_of(built);
    if (plan_is_asked_for) json["out_plan"] = plan_is_written ? Json(options.out_plan) : Json();
    return print_json(json);
  }
  print(summary(set));
  if (options.plan) print(say_plan(set));
  if (plan_is_asked_for)
    print(plan_is_written ? "written: " + shown(options.out_plan) + "\n"
                          : "no plan was written: there is none that holds\n");
  for (const std::string& stray : built.strays)
    print("  no song of the set makes " + printable(stray, 120) + " any more; it was left where it is\n");
  if (!options.out.empty())
    print("written: " + std::to_string(built.work.written) + " files in " + shown(options.out) + ", " +
          std::to_string(built.work.woven) + " songs woven; the rest was there\n");
}

}  // namespace

void add_set(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand(
      "set", "A whole evening: songs and pauses, heat carried from one to the next, each checked");
  const auto options = std::make_shared<SetOptions>();
  command->add_option("SET", options->file, "the set (TOML): coil, songs in order, pauses")->required();
  command->add_option("--out", options->out,
                      "a folder for streams, previews, the evening's page, the printed sheet and set.json");
  add_longest(*command, options->longest_s);
  command->add_option("--jobs", options->jobs, "threads, 1 to 64 (default: one a core)")
      ->check(CLI::Range(1, 64));
  command->add_flag("--no-previews", options->no_previews, "write no page for each song");
  command
      ->add_option("--starts-at", options->starts_at,
                   "the first song's time of day for the printed sheet, HH:MM")
      ->type_name("HH:MM");
  command->add_flag("--plan", options->plan,
                    "propose the shortest pauses with which no song is turned down, and songs to move");
  command->add_option("--out-plan", options->out_plan, "a new file for the proposal, as a set");
  add_force(*command, options->force);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer("Example:\n  burstloom set evening.toml --out evening --plan");
  command->callback([options, &answer] { build(*options, answer); });
}

}  // namespace burstloom::command
