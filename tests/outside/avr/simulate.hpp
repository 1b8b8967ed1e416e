// Runs a player's ELF in simavr: drives arm and stop, records every edge of the gate to the cycle.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace avr_check {

inline constexpr std::int64_t kClockHz = 16'000'000;
inline constexpr std::int64_t kCyclesPerTick = 8;

struct Edge {
  std::int64_t cycle = 0;
  bool high = false;
};

/// What a hand at the switches does: from `at_s` on they stand like this.
struct Switches {
  double at_s = 0;
  bool arm_closed = false;
  bool stop_closed = true;
};

/// Whoever is at the other end of the chip's serial line.
class Peer {
 public:
  Peer() = default;
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;
  virtual ~Peer() = default;
  /// Asked once a millisecond: what was heard since, and what to write now; `line_is_free` when all before is
  /// out.
  virtual std::vector<std::uint8_t> talk(double now_s, const std::vector<std::uint8_t>& heard,
                                         bool line_is_free) = 0;
  /// The simulation may end 50 ms later.
  [[nodiscard]] virtual bool is_done() const = 0;
};

struct Options {
  double seconds = 1;
  /// Armed after a tenth of a second, when the player has seen the arm input open.
  std::vector<Switches> switches = {{0, false, true}, {0.1, true, true}};
  /// A fault: no fall that the compare unit makes reaches the pin. What the program does then still does.
  bool lose_falls = false;
  /// A fault: the supply sags while burst number so many (from 1 on) is made, and the brown-out detector
  /// resets the chip; its pins let go, and the pull-down outside takes the gate low.
  std::size_t brown_out_in_burst = 0;
  Peer* peer = nullptr;
  double baud = 115'200;         ///< of the peer
  bool until_song_ends = false;  ///< ends 50 ms after the last song's end, at `seconds` at the latest
  std::uint8_t songs = 1;        ///< that many are played
};

/// As in firmware-out/player/player.h.
struct Status {
  std::uint8_t mark = 0, state = 0, error = 0, songs = 0;
  std::uint32_t made = 0, missed = 0, refused = 0;
};
enum State { resting, release, ready, checking, playing, fault };

struct Playback {
  std::vector<Edge> gate;     ///< PB1
  std::vector<Edge> blocked;  ///< PD7, which blocker.c raises while it keeps interrupts off
  Status status;
  std::int64_t cycles = 0;
  int deepest_stack = 0;     ///< bytes
  int impossible_edges = 0;  ///< of simavr's making, left out of `gate`: see simulate.cpp
  int resets = 0;            ///< after the first: the watchdog's
  int overruns = 0;          ///< bytes that came while the receiver's two were not yet fetched
};

/// Throws std::runtime_error when the ELF cannot be played.
[[nodiscard]] Playback simulate(const std::string& elf, const Options& options);

/// One wire `gate` (and `blocked`) at 10 ns, cycles rounded to the nearest: 62.5 ns are no whole number of
/// them.
[[nodiscard]] std::string to_vcd(const Playback& run);
/// Lines `cycle,wire,level`, exact.
[[nodiscard]] std::string to_csv(const Playback& run);

}  // namespace avr_check
