// A computer at the other end of a simulated player's serial line.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "bench.hpp"
#include "burstloom/link/session.hpp"

namespace avr_check {

inline constexpr double kRest_s = 0.2;

// For a coil with limits of 100 us of gap and, if not given, 50 us of on-time.
[[nodiscard]] inline std::string build_link_player(const std::string& name, std::int64_t baud = 115'200,
                                                   double on_max_us = 50) {
  burstloom::LinkPlayer player;
  player.profile.name = "bench";
  player.profile.drive.clock_tolerance_percent = 0;
  player.profile.limits.on_time_max_us = on_max_us;
  player.profile.limits.gap_us = 100;
  player.rest_s = kRest_s;
  player.baud = baud;
  return build(name, burstloom::link_player(player, atmega()));
}

// A session with the player, on a line that damages bytes, by somebody who dies or stops.
class SessionPeer : public Peer {
 public:
  std::vector<std::uint8_t> talk(double now_s, const std::vector<std::uint8_t>& heard,
                                 bool line_is_free) override {
    now_s_ = now_s;
    if (now_s >= dies_at_s) return {};
    if (now_s >= stops_at_s) session().stop();
    session().receive(now_s, heard);
    compose(now_s);
    if (!line_is_free) return {};
    std::vector<std::uint8_t> out;
    for (std::size_t before = 1; before != out.size();) {  // as much as it wants to write
      before = out.size();
      const auto more = session().to_send(now_s);
      out.insert(out.end(), more.begin(), more.end());
    }
    for (std::uint8_t& byte : out)
      if (damage_one_in != 0 && dice_() % damage_one_in == 0)
        byte ^= static_cast<std::uint8_t>(1 << dice_() % 8);
    return out;
  }
  [[nodiscard]] bool is_done() const override { return is_over() || now_s_ >= dies_at_s + 1; }

  double dies_at_s = 1e9, stops_at_s = 1e9;
  unsigned damage_one_in = 0;

 protected:
  virtual burstloom::LinkSession& session() = 0;
  [[nodiscard]] virtual bool is_over() const = 0;
  virtual void compose(double /*now_s*/) {}

 private:
  double now_s_ = 0;
  std::mt19937 dice_{1};
};

[[nodiscard]] inline Playback play(const std::string& elf, Peer& peer, double baud = 115'200,
                                   std::vector<Switches> more = {}) {
  Options options;
  options.seconds = 1'000;
  options.until_song_ends = true;
  options.switches = {{0, false, true}, {0.6, true, true}};
  options.switches.insert(options.switches.end(), more.begin(), more.end());
  options.peer = &peer;
  options.baud = baud;
  return simulate(elf, options);
}

[[nodiscard]] inline double last_fall_s(const Playback& run) {
  return static_cast<double>(pulses(run.gate).back().fall) / kClockHz;
}

}  // namespace avr_check
