#include "burstloom/common/error.hpp"
#include "burstloom/tables/tables.hpp"

namespace burstloom {
namespace {

// ATmega328P: 32 KiB flash and 2 KiB RAM by its data sheet. 512 bytes are left to a boot loader of the common
// size; on a chip without one they lie idle. The player's share and the shortest neighbours are measured: the
// tests outside.avr.size and outside.avr.plays.neighbours hold these figures to it.
Target atmega328p() {
  Target target;
  target.name = "atmega328p";
  target.chip = "an ATmega328P at 16 MHz";
  target.clock_hz = 16'000'000;
  target.tick_hz = 2'000'000;
  target.flash_bytes = 32'768 - 512;
  target.ram_bytes = 2'048;
  target.player_flash_bytes = 3'328;
  target.player_ram_bytes = 192;
  target.link_fastest_baud = 250'000;
  target.link_player_flash_bytes = 4'864;
  target.link_player_ram_bytes = 1'600;
  target.shortest_on_ticks = 4;
  target.shortest_gap_ticks = 112;
  target.longest_on_ticks = 16'000;
  target.voices_flash_bytes = 2'560;
  target.voices_ram_bytes = 64;
  target.voice_ram_bytes = 32;
  target.weaving_ticks = 68;
  target.weaving_ticks_per_voice = 9;
  target.telling_ticks = 170;
  return target;
}

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {atmega328p()};
  return all;
}

const Target& target_named(const std::string& name) {
  std::string names;
  for (const Target& target : targets()) {
    if (target.name == name) return target;
    names += (names.empty() ? "" : ", ") + target.name;
  }
  throw Error(Fault::usage, "there is no target '" + printable(name) + "'", "", "choose one of: " + names);
}

}  // namespace burstloom
