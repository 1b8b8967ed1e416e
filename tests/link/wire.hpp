// A player on this machine at one end of a wire, a sender at the other, and noise between them. Time is the
// chip's, in ticks; nothing waits.
#pragma once

#include <deque>
#include <functional>
#include <memory>
#include <random>

#include "burstloom/link/live_sender.hpp"
#include "burstloom/link/sender.hpp"

extern "C" {
#include "hardware.h"
#include "link.h"
#include "player.h"
#include "serial.h"
}

namespace link_check {

inline constexpr std::int64_t kTicksPerMs = 2'000;
inline constexpr std::int64_t kTicksPerByte = 174;              // ten bits at 115 200 baud
inline constexpr burstloom::SongOffer kOffer = {100, 200, 50};  // as compiled in: host/burst_table.h

/// Bytes on their way in one direction, one after the other.
struct Line {
  std::deque<std::pair<std::int64_t, std::uint8_t>> bytes;  ///< when each arrives
  std::int64_t free_at = 0;
  std::function<burstloom::Bytes(std::uint8_t)> noise = [](std::uint8_t byte) {
    return burstloom::Bytes{byte};
  };
  bool cut = false;

  void write(std::int64_t now, std::span<const std::uint8_t> more);
  [[nodiscard]] bool take(std::int64_t now, std::uint8_t* byte);
};

class Bench {
 public:
  Bench();
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  /// A sender begins to talk to the player.
  void send(const burstloom::BurstStream& stream, burstloom::SongOffer offer = kOffer,
            std::uint8_t session = 1);
  /// A live session begins.
  void go_live(std::uint8_t session = 1);
  void run_ms(std::int64_t ms);
  /// Sends, arms when the player is ready, runs until the sender is done or `most_ms` are over.
  void play(const burstloom::BurstStream& stream, std::int64_t most_ms = 600'000);
  /// Arms as soon as the player is ready.
  void arm_when_ready();
  /// Until the player is in that state; false after two seconds.
  [[nodiscard]] bool until(std::uint8_t state);
  void run_sender();  ///< to the session's end, a thousand seconds at most
  /// The chip sleeps: until then, or until a byte comes in.
  void sleep_until(std::int64_t moment);

  std::int64_t now = 0;
  bool arm = false, run = true, clock_sound = true;
  bool sender_lives = true, sender_writes = true;
  /// What the sender writes goes into a buffer without end, as a system has it: it is asked again at once.
  bool buffered = false;
  /// The computer's clock runs so much faster than the chip's.
  double drift = 0;
  /// What arrives at the computer is kept back until then (by an adapter, say); asked once a turn.
  std::function<bool()> kept_back = [] { return false; };
  /// Called each millisecond, before the sender is asked what to write.
  std::function<void(double now_s)> compose = [](double) {};
  /// What the sender writes passes through here.
  std::function<void(burstloom::Bytes&)> meddle = [](burstloom::Bytes&) {};
  Line to_chip, to_host;
  std::vector<burstloom::Burst> made;  ///< of the pin; since the bench was set up
  std::unique_ptr<burstloom::Sender> sender;
  std::unique_ptr<burstloom::LiveSender> live;
  [[nodiscard]] burstloom::LinkSession* session() const;
  [[nodiscard]] double host_s() const;

 private:
  void run_host();
  std::int64_t host_at_ = 0;
};

/// The chip's clock when the bench's is at zero: it turns over early in every test.
inline constexpr std::uint32_t kClockAtZero = 0xFFFF0000;

[[nodiscard]] burstloom::BurstStream song_like(std::size_t bursts, unsigned seed);
/// Noise that hits every n-th byte or so in one of the ways in which lines fail.
[[nodiscard]] std::function<burstloom::Bytes(std::uint8_t)> noise_one_in(unsigned n, unsigned seed);
/// A BEGIN of session 7: 2 000 000 ticks a second, gaps of 200.
[[nodiscard]] burstloom::Bytes begin_of(std::uint8_t encoding, std::uint8_t on_max = 100);
/// The pin's bursts from the first on, as a stream.
[[nodiscard]] std::vector<burstloom::Burst> from_first(std::vector<burstloom::Burst> bursts);
/// Fails unless on-times and gaps are those that are compiled in.
void expect_within_limits(const std::vector<burstloom::Burst>& bursts);

}  // namespace link_check
