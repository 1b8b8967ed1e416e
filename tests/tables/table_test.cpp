// The pulse table as a C header: read back by a decoder of the test's own, from the header's text.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <limits>
#include <random>
#include <set>

#include "burstloom/common/error.hpp"
#include "support/table_header.hpp"

namespace burstloom {
namespace {

void expect_header_holds(const TableInput& input) {
  const Header header = parse(table_header(input, chip()));
  EXPECT_EQ(decode(header.bytes), input.stream.bursts);
  EXPECT_EQ(std::string(header.bytes.begin(), header.bytes.begin() + 4), "BLPT");
  EXPECT_EQ(header.bytes[4], 1);
  EXPECT_EQ(header.bytes[5], 0);
  EXPECT_EQ(word_at(header.bytes, 8), 2'000'000u);
  EXPECT_EQ(word_at(header.bytes, 16), header.bytes.size() - 36);
  Bytes covered = header.bytes;
  covered.erase(covered.begin() + 32, covered.begin() + 36);
  EXPECT_EQ(word_at(header.bytes, 32), crc32(covered));
  EXPECT_EQ(header.define.at("CRC32"), crc32(covered));
  EXPECT_EQ(header.define.at("BYTES"), header.bytes.size());
  EXPECT_EQ(header.define.at("COUNT"), input.stream.bursts.size());
  EXPECT_EQ(header.define.at("TICK_HZ"), 2'000'000u);
  EXPECT_EQ(header.define.at("VERSION"), 1u);
  EXPECT_EQ(header.define.at("ON_MAX_TICKS"), word_at(header.bytes, 20));
  EXPECT_EQ(header.define.at("GAP_MIN_TICKS"), word_at(header.bytes, 24));
  EXPECT_EQ(header.define.at("REST_MS"), word_at(header.bytes, 28));
}

TEST(table_header, holds_the_stream) {
  expect_header_holds(three_bursts());
}

RC_GTEST_PROP(table_header, holds_any_stream, ()) {
  TableInput input = three_bursts();
  input.profile.limits.duty = {{10, 100}};
  input.stream.bursts.clear();
  const auto entries = *rc::gen::nonEmpty(rc::gen::container<std::vector<std::pair<int, int>>>(
      rc::gen::pair(rc::gen::weightedOneOf<int>(
                        {{5, rc::gen::inRange(202, 20'000)}, {1, rc::gen::inRange(20'000, (1 << 30) - 1)}}),
                    rc::gen::inRange(8, 99))));
  Tick at = 0;
  for (const auto& [gap, on] : entries) {
    input.stream.bursts.push_back({at + gap, on});
    at += gap + on;
  }
  input.stream.length = at;
  expect_header_holds(input);
}

TEST(table_header, is_the_same_every_time) {
  EXPECT_EQ(table_header(three_bursts(), chip()), table_header(three_bursts(), chip()));
}

// LEB128 vectors of DWARF 4, appendix C (2, 127, 128, 129, 12857), as twice a gap plus the flag.
TEST(table_header, writes_numbers_as_leb128) {
  TableInput input = three_bursts();
  input.stream.bursts = {{64, 20}, {64 + 20 + 6'428, 20}, {64 + 20 + 6'428 + 20 + 6'428, 21}};
  input.stream.length = 20'000;
  const Bytes bytes = parse(table_header(input, chip())).bytes;
  EXPECT_EQ(Bytes(bytes.begin() + 36, bytes.end()), (Bytes{0x81, 0x01, 20, 0xB8, 0x64, 0xB9, 0x64, 21}));
}

// Stretch and clock taken off the safe way round (the judge's arithmetic): (50 - 0.1) / 1.005 us = 99.30
// ticks down, (100 + 0.1) / 0.995 us = 201.206 ticks up. The player counts its rest from the last burst on:
// 30 s and the song's closing silence of 2.451 ms, / 0.995 up.
TEST(compiled_limits, are_the_profiles_in_ticks) {
  TableInput input = three_bursts();
  input.rest_before_repeat_s = 30;
  input.profile.drive.pulse_stretch_ns = 1'000;
  input.stream.bursts[2].on = 97;
  const Header header = parse(table_header(input, chip()));
  EXPECT_EQ(header.define.at("ON_MAX_TICKS"), 97u);
  EXPECT_EQ(header.define.at("GAP_MIN_TICKS"), 204u);
  EXPECT_EQ(header.define.at("REST_MS"), 30'154u);
}

// Bursts before a live session's rest are out of every window after it, by the player's clock too.
TEST(live_limits, are_the_profiles_and_rest_for_a_minute_or_the_longest_window) {
  Profile profile;
  profile.drive.clock_tolerance_percent = 0.5;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{10, 20}, {90'000, 5}};
  const burstloom::PlayerLimits limits = burstloom::live_limits(profile, 2'000'000);
  EXPECT_EQ(limits.on_max, 99);
  EXPECT_EQ(limits.gap_min, 202);
  EXPECT_GE(limits.rest_ms, 90'452);  // 90 s / 0.995
  EXPECT_LE(limits.rest_ms, 90'453);
  profile.limits.duty = {{10, 20}};
  EXPECT_GE(burstloom::live_limits(profile, 2'000'000).rest_ms, 60'000);
}

TEST(compiled_limits, of_exact_figures_lose_no_tick) {
  TableInput input = three_bursts();
  input.profile.drive.clock_tolerance_percent = 0;
  input.profile.drive.pulse_stretch_ns = 0;
  input.profile.limits.on_time_max_us = 0.1 + 48.9 + 0.1 + 0.4;  // not quite 49.5 as a double
  input.profile.limits.gap_us = 100.1 - 0.1;
  const Header header = parse(table_header(input, chip()));
  EXPECT_EQ(header.define.at("ON_MAX_TICKS"), 99u);
  EXPECT_EQ(header.define.at("GAP_MIN_TICKS"), 200u);
}

TEST(compiled_limits, are_never_wider_than_the_target) {
  TableInput input = three_bursts();
  input.profile.limits.on_time_max_us = 1e9;
  input.profile.drive.clock_tolerance_percent = 0;
  input.profile.limits.duty = {{10, 100}};
  input.profile.limits.gap_us = 0;
  const Header header = parse(table_header(input, chip()));
  EXPECT_EQ(header.define.at("ON_MAX_TICKS"), static_cast<std::uint64_t>(chip().longest_on_ticks));
  EXPECT_EQ(header.define.at("GAP_MIN_TICKS"), static_cast<std::uint64_t>(chip().shortest_gap_ticks));
}

void expect_refused(const TableInput& input, Fault fault, const std::string& part) {
  try {
    (void)table_header(input, chip());
    FAIL() << "was not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), fault) << error.what();
    EXPECT_NE(std::string(error.what()).find(part), std::string::npos) << error.what();
  }
}

TEST(refused, another_tick_rate) {
  TableInput input = three_bursts();
  input.stream.tick_hz = 1'000'000;
  expect_refused(input, Fault::usage, "1000000 ticks a second");
}
TEST(refused, no_bursts) {
  TableInput input = three_bursts();
  input.stream.bursts.clear();
  expect_refused(input, Fault::usage, "no bursts");
}
TEST(refused, bursts_out_of_order) {
  TableInput input = three_bursts();
  input.stream.bursts[2].start = 500;
  expect_refused(input, Fault::bad_input, "burst");
}
TEST(refused, on_time_that_the_chip_cannot_make) {
  TableInput input = three_bursts();
  input.stream.bursts[1].on = chip().shortest_on_ticks - 1;
  expect_refused(input, Fault::outside_limits,
                 "burst 2 at 0.0005 s lasts 1.5 µs, but an ATmega328P at 16 MHz cannot");
}
TEST(refused, gap_that_the_chip_cannot_make) {
  TableInput input = three_bursts();
  input.profile.limits.gap_us = 0;
  input.profile.limits.duty = {{10, 100}};
  input.stream.bursts[1].start = 67 + chip().shortest_gap_ticks;
  EXPECT_NO_THROW((void)table_header(input, chip()));
  input.stream.bursts[1].start -= 1;
  expect_refused(input, Fault::outside_limits, "burst 2 at");
}
TEST(refused, what_the_limits_would_clamp) {
  TableInput input = three_bursts();
  input.stream.bursts[2].on = 100;
  expect_refused(input, Fault::outside_limits,
                 "burst 3 at 0.0025 s lasts 50 µs, but the profile allows at most 49.5 µs");
  input = three_bursts();
  input.stream.bursts[1].start = 67 + 201;
  expect_refused(input, Fault::outside_limits,
                 "after a gap of 100.5 µs, but the profile wants at least 101 µs");
}
TEST(refused, rest_longer_than_the_player_counts) {
  TableInput input = three_bursts();
  input.stream.bursts[2].start = 1'060 + (Tick{1} << 30);
  input.stream.length = Tick{1} << 31;
  expect_refused(input, Fault::outside_limits, "burst 3");
}
TEST(refused, rest_before_repeat_that_is_no_rest) {
  for (const double rest : {-1.0, 1e9, std::numeric_limits<double>::quiet_NaN()}) {
    TableInput input = three_bursts();
    input.rest_before_repeat_s = rest;
    expect_refused(input, Fault::usage, "rest");
  }
}
TEST(refused, unknown_target) {
  EXPECT_THROW((void)target_named("abacus"), Error);
}

TableInput too_long() {
  TableInput input = three_bursts();
  input.stream.bursts.clear();
  // Gaps that follow no train.
  std::mt19937 dice(7);
  for (Tick i = 0; i < 20'000; ++i)
    input.stream.bursts.push_back({i * 3'000 + static_cast<Tick>(dice() % 2'000), 50});
  input.stream.length = 20'000 * 3'000;
  return input;
}

TEST(fit, tells_how_much_of_the_song_fits) {
  TableInput input = too_long();
  const TableFit fit = fit_of(input, chip());
  EXPECT_FALSE(fit.fits());
  EXPECT_GT(fit.fits_until_s, 0);
  expect_refused(input, Fault::outside_limits, std::to_string(fit.flash_used));
  const Tick until = nearest_tick(fit.fits_until_s, kDefaultTickHz);
  TableInput part = input;
  part.stream = excerpt(input.stream, 0, until);
  EXPECT_TRUE(fit_of(part, chip()).fits());
  EXPECT_NO_THROW((void)table_header(part, chip()));
  part.stream = excerpt(input.stream, 0, until + input.stream.length / 64);
  EXPECT_FALSE(fit_of(part, chip()).fits()) << "much more would fit, too";
}
TEST(fit, of_a_song_that_fits_is_its_length) {
  EXPECT_TRUE(fit_of(three_bursts(), chip()).fits());
  EXPECT_DOUBLE_EQ(fit_of(three_bursts(), chip()).fits_until_s, 0.005);
}

// What a stranger's title may hold must not end the comment it stands in, nor leave ASCII.
TEST(table_header, keeps_names_inside_the_comment) {
  TableInput input = three_bursts();
  for (const char* name : {"*/ int x;", "/*/", "**//", "a\nb\r\n#error",
                           "tri?"
                           "?/",
                           "??"
                           "?/",
                           "back\\", "\xC3\xA4\xFF\x01"}) {
    input.title = input.profile.name = name;
    input.whose_limits = {name, "limits of " + input.title};
    const std::string text = table_header(input, chip());
    EXPECT_EQ(text.find("*/"), text.find(" */\n#ifndef BURST_TABLE_H") + 1) << name;
    EXPECT_EQ(text.find("/*", 2), std::string::npos) << name;
    EXPECT_EQ(text.find("?"
                        "?/"),
              std::string::npos)
        << name;
    EXPECT_EQ(text.find("\\\n"), std::string::npos) << name;
    EXPECT_TRUE(std::all_of(text.begin(), text.end(), [](char c) {
      return c == '\n' || (c >= ' ' && c <= '~');
    })) << name;
    EXPECT_EQ(decode(parse(text).bytes), input.stream.bursts);
  }
}

TEST(table_header, says_whose_limits_in_lines_that_a_page_holds) {
  TableInput input = three_bursts();
  std::string long_line = "judged by the limits of";
  for (int i = 0; i < 60; ++i) long_line += " " + std::to_string(i) + " ms";
  input.whose_limits = {long_line, "not judged: heatsink"};
  const std::string text = table_header(input, chip()), comment = text.substr(0, text.find("*/"));
  EXPECT_NE(comment.find("\n * not judged: heatsink\n"), std::string::npos) << comment;
  std::istringstream lines(comment), words(long_line);
  std::string line, found, word;
  while (std::getline(lines, line)) {
    EXPECT_LE(line.size(), 100u) << line;
    found += line.substr(std::min<std::size_t>(line.size(), 2));
  }
  for (std::size_t at = 0; words >> word; ++at) {
    at = found.find(word, at);
    ASSERT_NE(at, std::string::npos) << word;
  }
}

TEST(table_header, carries_the_cautions) {
  const std::string text = table_header(three_bursts(), chip());
  for (const char* word : {"kill", "ozone", "noise", "fire", "pacemaker", "Mains", "burn", "local codes",
                           "licence", "no permission", "ACTIVE HIGH", "pull-down", "starts disarmed"})
    EXPECT_NE(text.substr(0, text.find("*/")).find(word), std::string::npos) << word;
}

TEST(project, holds_all_that_make_needs) {
  for (const Target& target : targets()) {
    SCOPED_TRACE(target.name);
    std::set<std::string> paths;
    std::string readme;
    for (const FolderFile& file : project(three_bursts(), target)) {
      EXPECT_TRUE(paths.insert(file.path).second) << file.path << " twice";
      EXPECT_FALSE(file.content.empty()) << file.path;
      if (file.path == "README.md") readme = file.content;
    }
    for (const char* path : {"Makefile", "README.md", "burst_table.h", "player/hardware.h", "player/player.c",
                             "player/player.h", "player/table.c", "player/table.h", "player/guard.c",
                             "player/weaver.c", "port/hardware.c", "port/main.c", "port/port.h"})
      EXPECT_EQ(paths.count(path), 1u) << path;
    EXPECT_EQ(paths.count("port/startup.c"), target.shared_port.empty() ? 0u : 1u);
    for (const char* words : {"## Cautions", "## How it behaves", "## Wiring", "gate output, active high",
                              "pull-down", "open = stop", "watchdog"})
      EXPECT_NE(readme.find(words), std::string::npos) << words;
  }
}

// Streams are woven at the default tick rate; a target that could not play them would be none.
TEST(targets, count_the_default_ticks) {
  for (const Target& target : targets()) {
    EXPECT_EQ(target.tick_hz, kDefaultTickHz) << target.name;
    EXPECT_EQ(target.clock_hz % target.tick_hz, 0) << target.name;
    EXPECT_GT(target.flash_bytes, target.player_flash_bytes) << target.name;
    EXPECT_GT(target.ram_bytes, target.player_ram_bytes) << target.name;
  }
}

std::vector<std::string> paths_of(const std::vector<FolderFile>& files) {
  std::vector<std::string> paths;
  for (const FolderFile& file : files) {
    paths.push_back(file.path);
    EXPECT_FALSE(file.content.empty()) << file.path;
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

LinkPlayer plain_link_player() {
  LinkPlayer player;
  player.profile = plain_profile();
  player.rest_s = 3;
  return player;
}

TEST(link_player, holds_all_that_make_needs) {
  EXPECT_EQ(
      paths_of(link_player(plain_link_player(), chip())),
      (std::vector<std::string>{
          "Makefile",          "README.md",       "burst_table.h",  "player/guard.c",       "player/guard.h",
          "player/hardware.h", "player/link.c",   "player/link.h",  "player/player.c",      "player/player.h",
          "player/serial.h",   "player/source.h", "player/table.h", "player/table_bytes.h", "player/voices.h",
          "player/weaver.h",   "port/hardware.c", "port/main.c",    "port/port.h",          "port/serial.c",
          "port/serial_port.h"}));
}

// The same limits as a table's player for the same coil.
TEST(link_player, compiles_the_profiles_limits_in) {
  const std::string header = link_player(plain_link_player(), chip()).front().content;
  const std::string table = table_header(three_bursts(), chip());
  for (const char* name : {"TICK_HZ", "ON_MAX_TICKS", "GAP_MIN_TICKS"}) {
    const std::size_t at = table.find(std::string("#define BURST_TABLE_") + name);
    EXPECT_NE(header.find(table.substr(at, table.find('\n', at) - at)), std::string::npos) << name;
  }
  EXPECT_NE(header.find("BURST_TABLE_REST_MS 3016UL"), std::string::npos) << "3 s by a clock 0.5 % fast";
  EXPECT_NE(header.find("BURST_LINK_BAUD 115200UL"), std::string::npos);
  EXPECT_NE(header.find("pull-down"), std::string::npos);
  EXPECT_NE(header.find("licence"), std::string::npos);
}

TEST(link_player, is_refused_for_a_chip_without_one) {
  Target other = chip();
  other.link_fastest_baud = 0;
  EXPECT_THROW((void)link_player(plain_link_player(), other), Error);
}

TEST(link_player, is_refused_for_a_line_that_the_chip_cannot_keep_up_with) {
  for (const std::int64_t baud : {250'001, 1'000'000, 9'599, 0, -1}) {
    LinkPlayer player = plain_link_player();
    player.baud = baud;
    EXPECT_THROW((void)link_player(player, chip()), Error) << baud;
  }
}

}  // namespace
}  // namespace burstloom
