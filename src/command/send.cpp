#include <chrono>
#include <cmath>
#include <random>

#include "burstloom/common/error.hpp"
#include "burstloom/link/sender.hpp"
#include "burstloom/link/serial_port.hpp"
#include "burstloom/tables/tables.hpp"
#include "command_line.hpp"
#include "in_a_row.hpp"
#include "player_words.hpp"
#include "set_folder.hpp"
#include "stop_on_signals.hpp"
#include "terminal.hpp"

namespace burstloom::command {
namespace {

struct SendOptions {
  std::vector<std::string> inputs;
  CoilChoice coil;
  std::string device;
  std::vector<double> pauses_s;
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
                 clock_time(from_s_ + sender.position_s()) + " of " + song_length(from_s_ + length_s_));
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

// Where a song is sent to, and what is still to be sent when it begins.
struct Place {
  std::string device;
  std::vector<std::string> paths;  // this song's and those of the songs after it
  double from_s = 0;
  std::vector<double> pauses_s{};  // between those
};

std::string going_on(const Place& place, double position_s) {
  std::string words = "to go on from there: --from " + in_tenths(position_s);
  if (place.paths.size() == 1) return words;
  for (const double pause_s : place.pauses_s) words += " --pause " + fixed(pause_s, 3);
  for (const std::string& path : place.paths) words += " " + printable(path, 200);
  return words;
}

// Throws Error for every ending but the good one.
void require_played(const Sender& sender, const Place& place) {
  const PlayerError why = say_ending(sender);
  if (why.what.empty()) return;
  const std::string where = printable(place.device, 200);
  if (sender.ending() == Sender::Ending::no_player)
    throw Error(Fault::machine, why.what, where, why.what_to_do);
  const double at_s = place.from_s + sender.position_s();
  throw Error(Fault::machine, "the song ended at " + clock_time(at_s) + ": " + why.what, where,
              why.what_to_do + (why.what_to_do.empty() ? "" : "; ") + going_on(place, at_s));
}

std::int64_t needed_baud_of(const SongInARow& song) {
  return needed_baud(plan_of(song.stream()), song.stream());
}

Json to_json(const Sender& sender, const SongInARow& song, double from_s, std::int64_t baud) {
  return {{"judged_by", to_json(song.input.coil)},
          {"bursts", sender.status().made + sender.status().missed},
          {"made", sender.status().made},
          {"missed", sender.status().missed},
          {"frames_sent_again", sender.frames_sent_again()},
          {"damaged_frames", sender.status().damaged + sender.damaged_answers()},
          {"position_s", from_s + sender.position_s()},
          {"needed_baud", needed_baud_of(song)},
          {"baud", baud},
          {"player",
           {{"tick_hz", sender.player()->tick_hz},
            {"on_max_ticks", sender.player()->on_max},
            {"gap_min_ticks", sender.player()->gap_min},
            {"rest_ms", sender.player()->rest_ms}}}};
}

// All songs are judged before the first one is sent.
std::vector<SongInARow> songs_to_send(const SendOptions& options) {
  refuse_if(options.inputs.size() == 1 && !options.pauses_s.empty(), "--pause is for several streams",
            "leave it out, or name more streams");
  std::vector<SongInARow> songs = songs_in_a_row(options.inputs, options.coil, {}, options.pauses_s);
  BurstStream& first = songs.front().input.source.file.stream;
  first = rest_of(first, options.from_s);
  for (SongInARow& song : songs) {
    const std::string where = printable(song.path, 200);
    judge_for(song, "not sent");
    require_sendable(song.stream(), where);
    require_fast_enough(needed_baud_of(song), options.baud, where);
  }
  if (songs.size() > 1) (void)judge_in_a_row(songs, "not sent");
  for (const std::string& line : lengthened_pauses(songs, options.pauses_s)) remark(line);
  return songs;
}

// What the player is asked to rest for after the song: the pause, which is no shorter than the song's rest.
SongOffer offer_of(const SongInARow& song, bool is_last) {
  const PlayerLimits limits =
      player_limits(song.input.coil.profile, song.stream(), is_last ? song.rest_s : song.pause_s);
  return {limits.on_max, limits.gap_min, limits.rest_ms};
}

// Song `i` of all, to its end. Throws Error for every other ending.
void send_one(const SendOptions& options, const std::vector<SongInARow>& all, std::size_t i, SerialPort& port,
              Sender& sender) {
  Place place{options.device,
              {options.inputs.begin() + static_cast<std::ptrdiff_t>(i), options.inputs.end()},
              i == 0 ? options.from_s : 0};
  for (std::size_t next = i; next + 1 < all.size(); ++next) place.pauses_s.push_back(all[next].pause_s);
  const BurstStream& stream = all[i].stream();
  if (all.size() > 1)
    remark("song " + std::to_string(i + 1) + " of " + std::to_string(all.size()) + ": " +
           printable(all[i].title()));
  Commentary commentary(stream.seconds(stream.length), place.from_s);
  try {
    send_until_over(sender, port, commentary);
  } catch (const Error& error) {
    commentary.done();
    if (sender.phase() != Sender::Phase::playing) throw;
    const double at_s = place.from_s + sender.position_s();
    throw Error(error.fault(), "the song ended at " + clock_time(at_s) + ": " + error.problem(),
                error.where(), error.what_to_do() + "; " + going_on(place, at_s));
  }
  commentary.done();
  require_played(sender, place);
}

std::string say_played(const Sender& sender) {
  return "played: " + grouped(sender.status().made) + " bursts, " + grouped(sender.status().missed) +
         " missed, " + grouped(sender.frames_sent_again()) + " frames sent again\n";
}

void send_streams(const SendOptions& options, Answer& answer) {
  const std::vector<SongInARow> all = songs_to_send(options);
  SerialPort port(options.device, options.baud);
  const SongInARow& first = all.front();
  for (const std::string& line : whose_limits(first.input.coil, first.judgement.not_judged)) remark(line);
  Json songs = Json::array();
  for (std::size_t i = 0; i < all.size(); ++i) {
    Sender sender(all[i].stream(), offer_of(all[i], i + 1 == all.size()), printable(options.device, 200),
                  new_session(), static_cast<double>(options.baud));
    send_one(options, all, i, port, sender);
    songs.push_back(to_json(sender, all[i], i == 0 ? options.from_s : 0, options.baud));
    if (!options.json) print(say_played(sender));
  }
  answer.exit_code = 0;
  if (options.json) print_json(all.size() == 1 ? songs[0] : Json{{"songs", songs}});
}

}  // namespace

void add_send(CLI::App& app, Answer& answer) {
  auto* command = app.add_subcommand("send", "Streams to a connected player (see export --to player)");
  const auto options = std::make_shared<SendOptions>();
  command
      ->add_option("STREAM", options->inputs,
                   "the stream (.burst; others with --coil); several, or the folder of a set, are sent one "
                   "after the other")
      ->required();
  command->add_option("--device", options->device, "the player's serial device, such as /dev/ttyUSB0")
      ->required();
  add_coil_choice(*command, options->coil);
  command->add_option("--baud", options->baud, "the line's rate, as the player was exported with")
      ->capture_default_str()
      ->check(CLI::Range(9'600, 1'000'000));
  command->add_option("--from", options->from_s,
                      "where to begin in the first stream, s: to go on after a break");
  command
      ->add_option("--pause", options->pauses_s,
                   "of several streams: pause after each, s; once for all, or again for each (default: the "
                   "shortest rest)")
      ->expected(1)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
  command->add_flag("--json", options->json, "one JSON object instead of words");
  command->footer(
      "Nothing sounds before the arm switch at the player is closed by hand, for every song anew.\n"
      "Example:\n  burstloom send song.burst --device /dev/ttyUSB0");
  command->callback([options, &answer] {
    open_set(options->inputs, options->pauses_s);
    send_streams(*options, answer);
  });
}

}  // namespace burstloom::command
