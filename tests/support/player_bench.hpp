// The player's portable part on this machine: a stand-in chip that fails in named ways, tables as the
// exporter writes them, and hands at the switches. Limits compiled in (tests/tables/host): 100 ticks of
// on-time, 200 of gap, 50 ms of rest. It defines the chip: one source of a program includes it.
#pragma once

#include <algorithm>
#include <functional>
#include <span>
#include <vector>

#include "burstloom/common/files.hpp"
#include "burstloom/stream/burst.hpp"

extern "C" {
#include "hardware.h"
#include "player.h"
#include "table.h"
}

namespace {

using burstloom::Burst;
using burstloom::Bytes;

constexpr std::uint32_t kTicksPerMs = 2'000;

void compile_in(const std::uint8_t* table, std::size_t bytes) {
  host_table = {table, static_cast<std::uint32_t>(bytes), 100, 200, 50};
}

// The stand-in chip: time goes on by what the player asks for, and by a fault now and then.
struct Chip {
  std::uint32_t now = 0xFFFF0000;  // the 32-bit clock turns over early in every test
  bool arm = false, run = true, clock_sound = true;
  std::vector<Burst> made;  // start: ticks since `first`
  std::uint32_t first = 0;
  std::function<void(Chip&)> each_rest = [](Chip&) {};  // the fault

  void make(std::uint32_t rise, std::uint16_t on) {
    if (made.empty()) first = rise;
    made.push_back({static_cast<std::int32_t>(rise - first), on});
    now = rise + on;
  }
};
Chip* chip = nullptr;

}  // namespace

extern "C" {
std::uint32_t hardware_now(void) {
  return chip->now += 20;
}
std::uint8_t hardware_conditions(void) {
  const int conditions = (chip->arm ? HARDWARE_ARM_GIVEN : 0) | (chip->run ? HARDWARE_RUN_ALLOWED : 0) |
                         (chip->clock_sound ? HARDWARE_CLOCK_SOUND : 0);
  return static_cast<std::uint8_t>(conditions);
}
std::uint8_t hardware_make_burst(std::uint32_t rise, std::uint16_t on) {
  if (!chip->run) return HARDWARE_STOPPED;
  if (static_cast<std::int32_t>(rise - chip->now) < 4) return HARDWARE_TOO_LATE;
  chip->make(rise, on);
  return HARDWARE_MADE;
}
void hardware_rest_until(std::uint32_t moment) {
  if (static_cast<std::int32_t>(moment - chip->now) > 16'000) moment = chip->now + 16'000;
  if (static_cast<std::int32_t>(moment - chip->now) > 0) chip->now = moment;
  chip->each_rest(*chip);
}
void hardware_gate_low(void) {}
}

namespace {

// Makes the checksum right again after a change of the table that lies at `from`: damage that it cannot see.
void seal(Bytes& bytes, std::size_t from = 0, std::size_t size = SIZE_MAX) {
  if (bytes.size() - from < 36) return;
  const std::span table = std::span(bytes).subspan(from, std::min(size, bytes.size() - from));
  const std::uint32_t crc = burstloom::crc32(table.subspan(36), burstloom::crc32(table.first(32)));
  for (std::size_t i = 0; i < 4; ++i) table[32 + i] = static_cast<std::uint8_t>(crc >> 8 * i);
}

void append_word(Bytes& bytes, std::uint64_t value) {
  for (int i = 0; i < 4; ++i, value /= 256) bytes.push_back(static_cast<std::uint8_t>(value % 256));
}

// What stands at the top of a table, and what it was made for.
struct Heading {
  std::uint8_t encoding = 0;
  std::size_t count = 0;
  std::uint32_t on_max = 100, gap_min = 200, rest_ms = 50;
};
Bytes table_with(const Heading& heading, const Bytes& data) {
  Bytes table = {'B', 'L', 'P', 'T', 1, heading.encoding, 36, 0};
  append_word(table, 2'000'000);
  append_word(table, heading.count);
  append_word(table, data.size());
  append_word(table, heading.on_max);
  append_word(table, heading.gap_min);
  append_word(table, heading.rest_ms);
  append_word(table, 0);
  table.insert(table.end(), data.begin(), data.end());
  seal(table);
  return table;
}

// A table of pairs as the exporter writes it, wider limits given, so that the player's own are put to the
// test.
Bytes table_of(const std::vector<Burst>& bursts, std::uint32_t on_max = 100, std::uint32_t gap_min = 200,
               std::uint32_t rest_ms = 50) {
  Bytes data;
  const auto number = [&](std::uint64_t value) {
    for (; value >= 128; value /= 128) data.push_back(static_cast<std::uint8_t>(value % 128 + 128));
    data.push_back(static_cast<std::uint8_t>(value));
  };
  Burst before;
  for (const Burst& burst : bursts) {
    number(static_cast<std::uint64_t>(2 * (burst.start - before.end()) + 1));
    number(static_cast<std::uint64_t>(burst.on));
    before = burst;
  }
  return table_with({0, bursts.size(), on_max, gap_min, rest_ms}, data);
}

class Bench {
 public:
  explicit Bench(Bytes table) : table_(std::move(table)) {
    chip = &stand_in;
    compile_in(table_.data(), table_.size());
    player_begin();
  }
  void run_ms(std::uint32_t ms) {
    const std::uint32_t end = stand_in.now + ms * kTicksPerMs;
    while (static_cast<std::int32_t>(end - stand_in.now) > 0) player_step();
  }
  void until_armed() {
    run_ms(100);
    stand_in.arm = true;
  }
  // Armed and played to its end, or for `most_ms`.
  std::vector<Burst> play(std::uint32_t most_ms = 60'000) {
    until_armed();
    run_ms(30);
    const std::uint32_t end = stand_in.now + most_ms * kTicksPerMs;
    while (static_cast<std::int32_t>(end - stand_in.now) > 0 &&
           (player_status.state == PLAYER_PLAYING || player_status.state == PLAYER_CHECKING))
      player_step();
    return stand_in.made;
  }
  Chip stand_in;

 private:
  Bytes table_;
};

}  // namespace
