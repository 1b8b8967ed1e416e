// Players on simulated ARM chips: an exported project's files, as `make` left them, played with hands at the
// switches.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "../avr/bench.hpp"

namespace arm_check {

struct Bench {
  double seconds = 1;  ///< ends 5 ms after the last song, at this at the latest
  int songs = 1;       ///< that many are played
  std::vector<avr_check::Switches> switches = {{0, false, true}, {0.03, true, true}};
  /// A fault: every now and then the processor stands still for up to so many cycles, wherever it is, while
  /// all else on the chip goes on.
  std::int64_t stall_cycles = 0;
};

struct Playback {
  std::vector<avr_check::Edge> gate;  ///< in cycles of the chip
  avr_check::Status status;
  bool was_reset = false;  ///< by the watchdog; the simulation ended there
  std::int64_t cycles = 0;
  int deepest_stack = 0;  ///< bytes
};

/// By rp2040js: play_in_rp2040js.mjs.
[[nodiscard]] Playback play_rp2040(const std::string& elf, const Bench& bench);
/// By Unicorn's Cortex-M3, around it our own model of the timers: stm32f103.cpp.
[[nodiscard]] Playback play_stm32f103(const std::string& elf, const Bench& bench);

/// Where `player_status` lies in RAM.
[[nodiscard]] std::uint32_t status_address(const std::string& elf);

}  // namespace arm_check
