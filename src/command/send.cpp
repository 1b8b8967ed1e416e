#include <chrono>
#include <cmath>
#include <random>

#include "burstloom/common/error.hpp"
#include "burstloom/link/sender.hpp"
#include "burstloom/link/serial_port.hpp"
#include "burstloom/tables/tables.hpp"
#include "command_line.hpp"
#include "player_words.hpp"
#include "stop_on_signals.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct SendOptions {
  std::string input, coil, device;
  std::int64_t baud = 115'200;
  double from_s = 0;
  bool json = false;
};

// What a person at the terminal has to know now: each sentence once, the position again and again.
class Commentary {
 public:
  explicit Commentary(double length_s, double from_s) : length_s_(length_s), from_s_(from_s) {}
  void follow(const Sender& sender) {
    if (sender.phase() == Sender::Phase::waiting && sender.status().session != 0) {
      const std::string now = waiting_for(sender.status());
      const bool same_kind = sender.status().state == said_of_;
      if (!same_kind) remark(now);
      said_of_ = sender.status().state;
    } else if (sender.phase() == Sender::Phase::playing) {
      if (said_of_) remark("playing");
      said_of_.reset();
      line_.show(sender.position_s() / length_s_,
                 clock_time(from_s_ + sender.position_s()) + " of " + clock_time(from_s_ + length_s_));
    }
  }
  void done() { line_.done(); }

 private:
  double length_s_, from_s_;
  std::optional<PlayerState> said_of_;
  StatusLine line_;
};

BurstStream rest_of(const BurstStream& stream, double from_s) {
  if (!(from_s >= 0 && from_s < std::max(stream.seconds(stream.length), 1e-9)))
    throw Error(Fault::usage, "a start at " + figure(from_s) + " s", "--from",
                "give a moment within the stream's " + figure(stream.seconds(stream.length)) + " s");
  return excerpt(stream, nearest_tick(from_s, stream.tick_hz), stream.length);
}

void require_sendable(const BurstStream& stream, const std::string& where) {
  if (stream.bursts.empty())
    throw Error(Fault::usage, "there are no bursts to send", where, "choose a part of the song that sounds");
  constexpr Tick kLongestGap = (Tick{1} << 30) - 1, kLongestOn = 65'535;
  Tick end = 0;
  for (const Burst& burst : stream.bursts) {
    if (burst.start - end > kLongestGap || burst.on > kLongestOn)
      throw Error(Fault::outside_limits,
                  "the burst at " + figure(stream.seconds(burst.start)) +
                      " s is longer, or comes after a longer rest, than a player counts",
                  where, "send the parts before and after by themselves, with --from");
    end = burst.end();
  }
}

// The player's buffer evens out less than what the rate is judged over, so there is nothing to try here.
void require_fast_enough(std::int64_t needed, std::int64_t baud, const std::string& where) {
  if (needed <= baud) return;
  throw Error(Fault::usage,
              "the busiest tenth of a second of this stream needs " + std::to_string(needed) +
                  " baud, the line has " + std::to_string(baud),
              where, "export the player for a faster line and send with the same --baud (such as 250000)");
}

void send_until_over(Sender& sender, SerialPort& port, Commentary& commentary) {
  using Clock = std::chrono::steady_clock;
  const auto began = Clock::now();
  const auto now_s = [&] { return std::chrono::duration<double>(Clock::now() - began).count(); };
  const StopOnSignals signals;
  Bytes out;
  bool stopping = false;
  while (sender.phase() != Sender::Phase::over) {
    if (signals.asked() && !stopping) {
      stopping = true;
      sender.stop();
      port.drop_unsent();
      out.clear();
    }
    if (out.empty()) out = sender.to_send(now_s());
    sender.receive(now_s(), port.exchange(out, 4));
    commentary.follow(sender);
  }
}

std::string going_on(double position_s) {
  return "to go on from there: --from " + figure(position_s);
}

// Throws Error for every ending but the good one.
void require_played(const Sender& sender, const SendOptions& options) {
  const double at_s = options.from_s + sender.position_s();
  const auto fail = [&](std::string what, std::string what_to_do) {
    throw Error(Fault::machine, std::move(what), printable(options.device, 200), std::move(what_to_do));
  };
  const std::string stopped_at = "the song ended at " + clock_time(at_s) + ": ";
  switch (sender.ending()) {
    case Sender::Ending::played:
      return;
    case Sender::Ending::no_player:
      return fail("no player answered within 5 s",
                  "load a player that was exported with --to player, and use the same --baud");
    case Sender::Ending::no_answer:
      return fail(stopped_at + "the player does not answer any more",
                  "it falls silent by itself; look at cable and power; " + going_on(at_s));
    case Sender::Ending::reset:
      return fail(stopped_at + "the player was reset", "look at its supply; " + going_on(at_s));
    case Sender::Ending::stopped:
      return fail(stopped_at + "stopped by hand", going_on(at_s));
    default: {
      const PlayerError error = say_player_error(sender.status().error);
      return fail(stopped_at + error.what,
                  error.what_to_do + (error.what_to_do.empty() ? "" : "; ") + going_on(at_s));
    }
  }
}

Json to_json(const Sender& sender, const SendOptions& options, std::int64_t needed) {
  return {{"bursts", sender.status().made + sender.status().missed},
          {"made", sender.status().made},
          {"missed", sender.status().missed},
          {"frames_sent_again", sender.frames_sent_again()},
          {"damaged_frames", sender.status().damaged + sender.damaged_answers()},
          {"position_s", options.from_s + sender.position_s()},
          {"needed_baud", needed},
          {"baud", options.baud},
          {"player",
           {{"tick_hz", sender.player()->tick_hz},
            {"on_max_ticks", sender.player()->on_max},
            {"gap_min_ticks", sender.player()->gap_min},
            {"rest_ms", sender.player()->rest_ms}}}};
}

void send_stream(const SendOptions& options, Answer& answer) {
  JudgedInput input = read_judged_input(options.input, options.coil, {});
  const std::string where = printable(options.input, 200);
  input.source.file.stream = rest_of(input.source.file.stream, options.from_s);
  const BurstStream& stream = input.source.file.stream;
  const Judgement judgement = judge_input(input, std::nullopt);
  if (judgement.verdict != Verdict::within_limits)
    throw Error(Fault::outside_limits, "this stream is not sent: " + one_line(judgement), where,
                "weave the song for this coil, or see all of it with burstloom check");
  require_sendable(stream, where);
  const std::int64_t needed = needed_baud(plan_of(stream), stream);
  require_fast_enough(needed, options.baud, where);
  const PlayerLimits limits =
      player_limits(input.profile, stream.tick_hz, judgement.rest_before_repeat_s.value_or(0));
  SerialPort port(options.device, options.baud);
  Sender sender(stream, {limits.on_max, limits.gap_min, limits.rest_ms}, printable(options.device, 200),
                new_session(), static_cast<double>(options.baud));
  Commentary commentary(stream.seconds(stream.length), options.from_s);
  try {
    send_until_over(sender, port, commentary);
  } catch (const Error& error) {
    commentary.done();
    if (sender.phase() != Sender::Phase::playing) throw;
    const double at_s = options.from_s + sender.position_s();
    throw Error(error.fault(), "the song ended at " + clock_time(at_s) + ": " + error.problem(),
                error.where(), error.what_to_do() + "; " + going_on(at_s));
  }
  commentary.done();
  require_played(sender, options);
  answer.exit_code = 0;
  if (options.json) return print_json(to_json(sender, options, needed));
  print("played: " + grouped(sender.status().made) + " bursts, " + grouped(sender.status().missed) +
        " missed, " + grouped(sender.frames_sent_again()) + " frames sent again\n");
}

}  // namespace

void add_send(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand("send", "Streams to a connected player (see export --to player)");
  const auto options = std::make_shared<SendOptions>();
  command->add_option("STREAM", options->input, "the stream (.burst; others with --coil)")->required();
  command->add_option("--device", options->device, "the player's serial device, such as /dev/ttyUSB0")
      ->required();
  command->add_option("--coil", options->coil, "the coil's profile; a .burst file carries its own");
  command->add_option("--baud", options->baud, "the line's rate, as the player was exported with")
      ->capture_default_str()
      ->check(CLI::Range(9'600, 1'000'000));
  command->add_option("--from", options->from_s, "where to begin, s: to go on after a break");
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer(
      "Nothing sounds before the arm switch at the player is closed by hand.\n"
      "Example:\n  burstloom send song.burst --device /dev/ttyUSB0");
  command->callback([options, &answer] { send_stream(*options, answer); });
}

}  // namespace burstloom::command
