#include <utility>

#include "burstloom/common/error.hpp"
#include "burstloom/common/nearest.hpp"
#include "burstloom/common/words.hpp"
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
  target.player_flash_bytes = 4'672;
  target.player_ram_bytes = 280;
  target.link_fastest_baud = 250'000;
  target.link_player_flash_bytes = 6'528;
  target.link_player_ram_bytes = 1'600;
  target.link_guard_ram_bytes = 320;
  target.shortest_on_ticks = 4;
  target.shortest_gap_ticks = 136;
  target.guard_gap_ticks = 52;
  target.guard_counts_starts = false;  // the time between two bursts is short
  target.longest_on_ticks = 16'000;
  target.voices_flash_bytes = 2'560;
  target.voices_ram_bytes = 64;
  target.voice_ram_bytes = 32;
  target.set_flash_bytes = 448;
  target.set_voices_flash_bytes = 704;
  target.set_ram_bytes = 28;
  target.weaving_ticks = 68;
  target.weaving_ticks_per_voice = 9;
  target.telling_ticks = 170;
  return target;
}

// What a table of voices takes on chips with 32 bits: the sizes measured on ARM, the times those of eight
// bits at 16 MHz, which are slower.
void add_voices(Target& target) {
  target.voices_flash_bytes = 1'792;
  target.voices_ram_bytes = 96;
  target.voice_ram_bytes = 40;
  target.set_flash_bytes = 448;
  target.set_voices_flash_bytes = 512;
  target.set_ram_bytes = 32;
  target.weaving_ticks = 68;
  target.weaving_ticks_per_voice = 9;
  target.telling_ticks = 170;
}

// RP2040: 264 KiB of RAM by its data sheet; flash is outside the chip, boards carry 2 MiB and more. In the
// simulator gaps of 16 ticks are kept; an entry of the table that lies across two lines of the flash cache
// takes 17 more (two times 8 bytes, 64 bits sent a word, at 30 MHz). The rest is margin.
Target rp2040() {
  Target target;
  target.name = "rp2040";
  target.chip = "an RP2040 at 120 MHz";
  target.shared_port = "cortex-m";
  target.clock_hz = 120'000'000;
  target.tick_hz = 2'000'000;
  target.flash_bytes = 2'097'152;
  target.ram_bytes = 270'336;
  target.player_flash_bytes = 5'120;
  target.player_ram_bytes = 5'120;
  target.shortest_on_ticks = 2;
  target.shortest_gap_ticks = 60;
  target.guard_gap_ticks = 12;
  target.longest_on_ticks = 16'000;
  add_voices(target);
  target.voices_ram_bytes += target.voices_flash_bytes;  // code runs from RAM
  target.set_ram_bytes += target.set_flash_bytes + target.set_voices_flash_bytes;
  return target;
}

// STM32F103x8: 64 KiB of flash and 20 KiB of RAM by its data sheet. With three cycles an instruction gaps of
// 32 ticks are kept.
Target stm32f103() {
  Target target;
  target.name = "stm32f103";
  target.chip = "an STM32F103 at 72 MHz";
  target.shared_port = "cortex-m";
  target.clock_hz = 72'000'000;
  target.tick_hz = 2'000'000;
  target.flash_bytes = 65'536;
  target.ram_bytes = 20'480;
  target.player_flash_bytes = 4'096;
  target.player_ram_bytes = 1'024;
  target.shortest_on_ticks = 2;
  target.shortest_gap_ticks = 80;
  target.guard_gap_ticks = 16;
  target.longest_on_ticks = 16'000;
  add_voices(target);
  return target;
}

// ESP32: never run on a chip. RAM by its data sheet; flash is outside the chip, 1 MiB is a common share for a
// program (from memory). The player's share and the shortest neighbours are placeholders on the safe side.
Target esp32() {
  Target target;
  target.name = "esp32";
  target.chip = "an ESP32 (never run on a chip)";
  target.clock_hz = 80'000'000;
  target.tick_hz = 2'000'000;
  target.flash_bytes = 1'048'576;
  target.ram_bytes = 532'480;
  target.player_flash_bytes = 8'192;
  target.player_ram_bytes = 4'096;
  target.shortest_on_ticks = 4;
  target.shortest_gap_ticks = 200;
  target.guard_gap_ticks = 52;
  target.longest_on_ticks = 16'000;
  add_voices(target);
  return target;
}

// No chip at all: placeholders, for whoever ports the player to a chip of their own.
Target generic() {
  Target target = esp32();
  target.name = "generic";
  target.chip = "a chip of your own (sizes and times are placeholders)";
  target.clock_hz = 16'000'000;
  target.ram_bytes = 65'536;
  return target;
}

// Boards by the names that people give them, and the chip on each.
constexpr std::pair<const char*, const char*> kBoards[] = {
    {"arduino", "atmega328p"}, {"arduino-uno", "atmega328p"}, {"arduino-nano", "atmega328p"},
    {"uno", "atmega328p"},     {"nano", "atmega328p"},        {"pico", "rp2040"},
    {"blue-pill", "stm32f103"}};

}  // namespace

const std::vector<Target>& targets() {
  static const std::vector<Target> all = {atmega328p(), rp2040(), stm32f103(), esp32(), generic()};
  return all;
}

std::string nearest_target(const std::string& name) {
  std::vector<std::string> names;
  for (const Target& target : targets()) names.push_back(target.name);
  for (const auto& [board, chip] : kBoards) names.emplace_back(board);
  const std::string meant = nearest(name, names);
  for (const auto& [board, chip] : kBoards)
    if (meant == board) return chip;
  return meant;
}

const Target& target_named(const std::string& name) {
  std::vector<std::string> names;
  for (const Target& target : targets()) {
    if (target.name == name) return target;
    names.push_back(target.name);
  }
  const std::string meant = nearest_target(name);
  throw Error(Fault::usage, "there is no target '" + printable(name) + "'", "--target",
              meant.empty() ? "choose one of: " + listed(names) : "did you mean " + meant + "?");
}

}  // namespace burstloom
