#include <chrono>
#include <cmath>
#include <csignal>
#include <ctime>
#include <filesystem>

#include "burstloom/common/cautions.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/live/clock.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/tables/tables.hpp"
#include "command_line.hpp"
#include "live_screen.hpp"
#include "live_view.hpp"
#include "player_words.hpp"
#include "stop_on_signals.hpp"

namespace burstloom::command {
namespace {

struct LiveCommand {
  std::string coil, to, record, arrangement;
  std::vector<std::string> from, offered;
  std::int64_t baud = 115'200, tick_hz = kDefaultTickHz;
  std::optional<int> voices;
  double latency_ms = 10;
  bool list = false, full = false, json = false;
};

constexpr double kLookEvery_s = 0.25, kDrawEvery_s = 0.1, kSayEvery_s = 1;
constexpr int kKeyWait_ms = 20;

void list_ports(const LiveCommand& command) {
  const std::vector<std::string> names = midi_of_this_machine()->names();
  if (command.json) return print_json({{"ports", names}});
  if (names.empty()) return print("there is no MIDI port on this machine\n");
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < names.size(); ++i)
    rows.push_back({std::to_string(i + 1), printable(names[i], 70)});
  print(table(rows));
}

constexpr std::string_view kStreamEnding = ".burst";

bool goes_to_file(const LiveCommand& command) {
  return command.to.size() > kStreamEnding.size() && command.to.ends_with(kStreamEnding);
}

void require_told(const LiveCommand& command) {
  const auto refuse = [](const std::string& what, const std::string& what_to_do) {
    throw Error(Fault::usage, what, "", what_to_do);
  };
  if (command.to.empty())
    refuse("nothing is driven unless it is named",
           "give --to DEVICE (the player's serial line), or --to FILE.burst to play into a file only");
  if (command.from.empty() && command.offered.empty())
    refuse("no MIDI port is chosen",
           "give --from with a number or a part of a name (burstloom live --list), or --virtual NAME");
}

void require_device(const LiveCommand& command) {
  std::error_code ignored;
  if (!goes_to_file(command) && !std::filesystem::exists(command.to, ignored)) throw no_such_port(command.to);
}

// The file of a recording `name` that is there already; empty where there is none.
std::string taken(const std::string& name) {
  for (const char* ending : {".burst", ".mid"})
    if (std::filesystem::exists(name + ending)) return name + ending;
  return "";
}

std::string name_by_date() {
  const std::time_t now = std::time(nullptr);
  std::tm local{};
  ::localtime_r(&now, &local);
  char text[40];
  std::strftime(text, sizeof text, "live-%Y-%m-%d-%H%M%S", &local);
  std::string name = text;
  for (int number = 2; !taken(name).empty(); ++number)
    name = std::string(text) + "-" + std::to_string(number);
  return name;
}

std::string wished_name(const LiveCommand& command) {
  if (goes_to_file(command)) {
    if (!command.record.empty())
      throw Error(Fault::usage, "--to names the recording already", "--record", "leave one of them out");
    return command.to.substr(0, command.to.size() - kStreamEnding.size());
  }
  return command.record.ends_with(kStreamEnding)
             ? command.record.substr(0, command.record.size() - kStreamEnding.size())
             : command.record;
}

// A recording never takes the place of another, nor of a song's MIDI file beside a stream.
std::string recording_name(const LiveCommand& command) {
  std::string name = wished_name(command);
  if (name.empty()) return name_by_date();
  if (const std::string file = taken(name); !file.empty())
    throw Error(Fault::usage, "this file is there already", printable(file, 200),
                "record under another name, or move the file away");
  return name;
}

std::unique_ptr<Outlet> outlet_for(const LiveCommand& command, const PlayerLimits& limits) {
  if (goes_to_file(command)) return outlet_to_nothing(command.tick_hz);
  return outlet_to_player({.device = command.to,
                           .baud = command.baud,
                           .tick_hz = command.tick_hz,
                           .offer = {limits.on_max, limits.gap_min, limits.rest_ms},
                           .session = new_session()});
}

LiveOptions live_options(const LiveCommand& command, const Profile& profile) {
  LiveOptions options;
  options.weave.tick_hz = command.tick_hz;
  options.weave.voices = command.voices.value_or(profile.voices);
  if (!command.arrangement.empty()) options.arrangement = read_arrangement(command.arrangement);
  return options;
}

// The person at the keyboard and what they see, until somebody ends it.
class Console {
 public:
  Console(const LiveCommand& command, const Profile& profile, std::string record, SoftStart soft_start,
          MidiInputs& inputs, LiveSession& session)
      : command_(command),
        profile_(profile),
        record_(std::move(record)),
        soft_start_(soft_start),
        inputs_(inputs),
        session_(session) {
    session_.controls().longest_on.store(soft_start_.longest_on());
  }

  void run() {
    const StopOnSignals signals;
    const LiveScreen screen;
    while (!signals.asked() && !session_.is_over() && !wants_to_stop_) {
      if (const auto key = screen.key(kKeyWait_ms)) obey(*key);
      const double now_s = live_now_s();
      if (is_time(looked_s_, now_s, kLookEvery_s)) inputs_.look(now_s);
      if (screen.there() && is_time(told_s_, now_s, kDrawEvery_s)) screen.show(live_page(view()));
      if (!screen.there() && is_time(told_s_, now_s, kSayEvery_s)) say_line();
    }
  }

  [[nodiscard]] LiveView view() {
    return {.profile = profile_,
            .now = session_.figures(),
            .link = session_.link(),
            .ports = inputs_.ports(),
            .soft_start = soft_start_,
            .tick_hz = static_cast<double>(command_.tick_hz),
            .latency_ms = command_.latency_ms,
            .passed_s = live_now_s() - began_s_,
            .to = printable(command_.to, 40),
            .record = record_,
            .remarks = session_.remarks()};
  }

 private:
  void obey(char key) {
    LiveControls& controls = session_.controls();
    if (key == ' ') controls.silent.store(!controls.silent.load());
    if (key == '+') soft_start_.raise();
    if (key == '-') soft_start_.lower();
    if (key == 'q') wants_to_stop_ = true;
    controls.longest_on.store(soft_start_.longest_on());
  }
  static bool is_time(double& last_s, double now_s, double every_s) {
    if (now_s - last_s < every_s) return false;
    last_s = now_s;
    return true;
  }
  // A line that says the same as the one before, but for its time, tells nothing.
  void say_line() {
    const std::string line = live_line(view());
    const std::string words = line.substr(line.find(' '));
    if (words != said_) remark(line);
    said_ = words;
  }

  const LiveCommand& command_;
  const Profile& profile_;
  std::string record_;
  SoftStart soft_start_;
  MidiInputs& inputs_;
  LiveSession& session_;
  double began_s_ = live_now_s(), looked_s_ = 0, told_s_ = 0;
  bool wants_to_stop_ = false;
  std::string said_;
};

void say_cautions() {
  for (const std::string_view line : kCautions) remark(std::string(line));
  remark("");
}

void tell_end(const LiveCommand& command, const ChosenCoil& coil, const LiveView& view,
              const Judgement& judgement) {
  if (command.json) {
    Json json = live_json(view);
    json["judged_by"] = to_json(coil);
    json["verdict"] = name_of(judgement.verdict);
    return print_json(json);
  }
  const LiveState& engine = view.now.engine;
  std::string bursts;
  for (std::size_t i = 0; i < kFates; ++i)
    bursts += (i == 0 ? "" : " + ") + grouped(engine.bursts[i]) + " " + name_of(static_cast<Fate>(i));
  const std::string lost = not_played(view);
  print("played: " + grouped(engine.notes) + " notes in " + song_length(view.passed_s) +
        "; bursts: " + bursts + "\n" + (lost.empty() ? "" : lost + "\n") + one_line(judgement) + "\n" +
        indented(whose_limits(coil, judgement.not_judged)) + "written: " + shown(view.record) + ".burst, " +
        shown(view.record) + ".mid\n");
}

void play_live(const LiveCommand& command, Answer& answer) {
  if (command.list) return list_ports(command);
  require_told(command);
  require_device(command);
  const ChosenCoil coil = named_coil(command.coil);
  const Profile& profile = coil.profile;
  const LiveOptions options = live_options(command, profile);
  const std::string record = recording_name(command);
  const PlayerLimits limits = live_limits(profile, command.tick_hz);
  const auto low = static_cast<Tick>(
      std::ceil(command_limits(profile).on_time_min_us * static_cast<double>(command.tick_hz) / 1e6));

  ::signal(SIGPIPE, SIG_IGN);  // a reader that has gone, of what is said here, shall not cost the recording
  Bell bell;
  const auto midi = midi_of_this_machine();
  MidiInputs inputs(*midi, [&bell] { bell.ring(); });
  for (const std::string& wish : command.from) inputs.listen_to(wish);
  for (const std::string& name : command.offered) inputs.offer(name);
  say_cautions();
  for (const std::string& line : whose_limits(coil)) remark(line);
  LiveSession session(profile, options, outlet_for(command, limits), inputs.inlets(), bell,
                      {.latency_s = command.latency_ms / 1000, .record = record});
  Console console(command, profile, record, SoftStart(low, std::max(low, limits.on_max), command.full),
                  inputs, session);
  const std::vector<std::string> said = session.remarks();
  for (const std::string& it : said) remark(it);
  console.run();
  try {
    session.finish();
  } catch (const Error&) {
    const std::vector<std::string> all = session.remarks();
    for (std::size_t i = said.size(); i < all.size(); ++i) remark(all[i]);
    if (session.is_recorded()) remark("recorded: " + shown(record) + ".burst, " + shown(record) + ".mid");
    throw;
  }
  const Judgement judgement = judge(session.recording().stream("").stream, profile);
  tell_end(command, coil, console.view(), judgement);
  answer.exit_code = judgement.verdict == Verdict::within_limits ? 0 : 1;
}

}  // namespace

void add_live(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand("live", "Plays what comes in on MIDI ports, inside the coil's limits");
  const auto options = std::make_shared<LiveCommand>();
  command->add_flag("--list", options->list, "list the MIDI ports there are, and do nothing else");
  command->add_option("--coil", options->coil,
                      "the coil's profile (default: the bench coil, burstloom coil use)");
  command
      ->add_option("--from", options->from,
                   "a MIDI port to listen to: its number or a part of its name; several "
                   "times for several")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command
      ->add_option("--virtual", options->offered,
                   "open a MIDI port of this name for other programs to play into")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command->add_option("--to", options->to,
                      "the player's serial device, such as /dev/ttyUSB0; or FILE.burst: nothing is driven");
  command->add_option("--baud", options->baud, "the line's rate, as the player was exported with")
      ->capture_default_str()
      ->check(CLI::Range(9'600, 1'000'000));
  command->add_option("--latency-ms", options->latency_ms, "from a key to its spark")
      ->capture_default_str()
      ->check(CLI::Range(1.0, 100.0));
  command->add_option("--record", options->record,
                      "what to call the recording: NAME.burst and NAME.mid (default: by date and time)");
  command->add_flag("--full", options->full, "begin with the coil's longest burst, without a soft start");
  command->add_option("--arrangement", options->arrangement,
                      "which channels play, how loud, in which octave (TOML)");
  command->add_option("--voices", options->voices,
                      "notes that may sound at once, 1 to 16 (default: the profile's)");
  command->add_option("--tick-hz", options->tick_hz, "ticks a second, as the player counts")
      ->capture_default_str();
  command->add_flag("--json", options->json, "one JSON object at the end instead of words");
  command->footer(
      "Keys: space silence, + and - longest burst, q stop. It begins softly: bursts are as short as the coil "
      "allows until you raise them.\n"
      "Nothing sounds before the arm switch at the player is closed by hand.\n"
      "Example:\n  burstloom live --coil coil.toml --from 1 --to /dev/ttyUSB0");
  command->callback([options, &answer] { play_live(*options, answer); });
}

}  // namespace burstloom::command
