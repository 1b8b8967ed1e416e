// A set's image: decoded by a reader of the test's own, and what is refused.
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "burstloom/common/error.hpp"
#include "support/table_header.hpp"

namespace burstloom {
namespace {

ImageSong song_of(std::vector<Burst> bursts, const std::string& title, double pause_s = 1) {
  ImageSong song{three_bursts(), pause_s};
  song.table.title = title;
  song.table.stream.bursts = std::move(bursts);
  song.table.stream.length = song.table.stream.bursts.back().end();
  return song;
}

std::vector<ImageSong> two_songs() {
  return {song_of({{7, 60}, {1'000, 60}, {5'000, 98}}, "first"), song_of({{0, 50}, {700, 40}}, "second", 2)};
}

constexpr std::size_t kEntryBytes = 48, kHeadingBytes = 36;

Bytes part(const Bytes& bytes, std::size_t from, std::size_t size) {
  const auto first = bytes.begin() + static_cast<std::ptrdiff_t>(from);
  return {first, first + static_cast<std::ptrdiff_t>(size)};
}
void expect_sound_heading(const Bytes& table, int encoding, std::size_t count) {
  EXPECT_EQ(std::string(table.begin(), table.begin() + 4), "BLPT");
  EXPECT_EQ(table[4], 1);
  EXPECT_EQ(table[5], encoding);
  EXPECT_EQ(word_at(table, 12), count);
  EXPECT_EQ(word_at(table, 16), table.size() - kHeadingBytes);
  Bytes covered = table;
  covered.erase(covered.begin() + 32, covered.begin() + 36);
  EXPECT_EQ(word_at(table, 32), crc32(covered));
}

TEST(set_image, holds_every_song) {
  const auto songs = two_songs();
  const Header header = parse(set_image(songs, chip()).header);
  const Bytes& image = header.bytes;
  EXPECT_EQ(header.define.at("BYTES"), image.size());
  EXPECT_EQ(header.define.at("ENCODING"), 0u);
  expect_sound_heading(part(image, 0, kHeadingBytes + 2 * kEntryBytes), 2, 2);
  std::size_t next = kHeadingBytes + 2 * kEntryBytes;
  for (std::size_t i = 0; i < songs.size(); ++i) {
    const std::size_t entry = kHeadingBytes + i * kEntryBytes;
    EXPECT_EQ(word_at(image, entry), next);
    const Bytes table = part(image, next, word_at(image, entry + 4));
    expect_sound_heading(table, 0, songs[i].table.stream.bursts.size());
    EXPECT_EQ(decode(table), songs[i].table.stream.bursts);
    EXPECT_EQ(std::string(reinterpret_cast<const char*>(&image[entry + 16])), songs[i].table.title);
    next += table.size();
  }
  EXPECT_EQ(next, image.size());
}

std::uint32_t pause_ms(const Bytes& image, std::size_t song) {
  return word_at(image, kHeadingBytes + song * kEntryBytes + 12);
}

// By a clock 0.5 % fast, up: 1 s becomes 1 006 ms.
TEST(set_image, pauses_as_planned_and_never_less_than_the_rest) {
  auto songs = two_songs();
  songs.push_back(songs[0]);
  songs[1].pause_s = 3;
  songs[1].table.rest_before_repeat_s = 8;
  songs[2].table.rest_before_repeat_s = 5;
  const SetImage image = set_image(songs, chip());
  const Header header = parse(image.header);
  EXPECT_EQ(pause_ms(header.bytes, 0), 1'006u);
  EXPECT_EQ(pause_ms(header.bytes, 1), 8'041u);
  EXPECT_EQ(header.define.at("REST_MS"), 8'041u) << "the longest of any song";
  EXPECT_EQ(image.directory[2].rest_ms, 5'026);
  EXPECT_NE(image.header.find("#define BURST_SET_SONGS 3\n#define BURST_SET_PAUSE_MIN_MS 1006UL\n"),
            std::string::npos);
}

// A player counts from the last burst on: the silence that closes a song comes before its pause.
TEST(set_image, adds_the_closing_silence_to_a_pause) {
  auto songs = two_songs();
  songs[0].table.stream.length += 2'000'000;
  EXPECT_EQ(pause_ms(parse(set_image(songs, chip()).header).bytes, 0), 2'011u);
}

TEST(set_image, says_which_songs_it_holds_and_keeps_their_names_harmless) {
  auto songs = two_songs();
  songs[0].table.title = "*/ int x; \xC3\xA4 a very long title that goes on and on";
  const SetImage image = set_image(songs, chip());
  EXPECT_EQ(image.header.find("*/"), image.header.find(" */\n#ifndef BURST_TABLE_H") + 1);
  EXPECT_LE(image.directory[0].title.size(), 32u);
  for (const char* words :
       {"Song 0: ", "Song 1: second, 2 bursts", "pause after it 1.006 s", "pacemaker", "pull-down"})
    EXPECT_NE(image.header.find(words), std::string::npos) << words;
}

TEST(set_image, makes_a_whole_project_for_each_target) {
  for (const Target& target : targets()) {
    SCOPED_TRACE(target.name);
    const SetImage image = set_image(two_songs(), target);
    std::vector<std::string> paths;
    std::string readme;
    for (const FolderFile& file : image.project) {
      paths.push_back(file.path);
      if (file.path == "README.md") readme = file.content;
      EXPECT_TRUE(file.path != "burst_table.h" || file.content == image.header);
    }
    for (const char* path : {"Makefile", "burst_table.h", "player/set.c", "player/set.h", "port/main.c"})
      EXPECT_EQ(std::ranges::count(paths, path), 1) << path;
    for (const char* words :
         {"## Cautions", "stands for the whole set", "player_choose", "| 1 | second |", "## Wiring"})
      EXPECT_NE(readme.find(words), std::string::npos) << words;
  }
}

TEST(set_image, is_the_same_every_time) {
  EXPECT_EQ(set_image(two_songs(), chip()).header, set_image(two_songs(), chip()).header);
}

void expect_refused(const std::vector<ImageSong>& songs, Fault fault, const std::vector<std::string>& parts) {
  EXPECT_FALSE(can_hold(chip(), songs));
  try {
    (void)set_image(songs, chip());
    FAIL() << "was not refused";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), fault) << error.what();
    for (const std::string& part : parts)
      EXPECT_NE(std::string(error.what()).find(part), std::string::npos) << part << ": " << error.what();
  }
}

TEST(refused_set, of_no_songs_or_too_many) {
  expect_refused({}, Fault::usage, {"0 songs"});
  expect_refused(std::vector<ImageSong>(256, two_songs()[0]), Fault::usage, {"256 songs"});
}
TEST(refused_set, of_another_tick_rate) {
  auto songs = two_songs();
  songs[1].table.stream.tick_hz = 1'000'000;
  expect_refused(songs, Fault::usage, {"song 2 (second)", "1000000 ticks a second"});
}
TEST(refused_set, with_other_limits_names_what_differs) {
  const std::pair<void (*)(Profile&), const char*> changes[] = {
      {[](Profile& profile) { profile.limits.on_time_max_us = 49.7; },
       "its longest on-time is 49 µs, not 49.5 µs"},
      {[](Profile& profile) { profile.limits.gap_us = 95; }, "its shortest gap is 96 µs, not 101 µs"},
      {[](Profile& profile) {
         profile.limits.duty = {{10, 19}};
       },
       "10 ms: 19 %, not 10 ms: 20 %"},
      {[](Profile& profile) {
         profile.limits.duty = {{10, 100}};
       },
       "is none, not 10 ms: 20 %"}};
  for (const auto& [change, words] : changes) {
    auto songs = two_songs();
    change(songs[1].table.profile);
    expect_refused(songs, Fault::usage, {"song 2 (second) has other limits than song 1 (first)", words});
  }
}
TEST(refused_set, with_a_song_that_the_chip_cannot_play) {
  auto songs = two_songs();
  songs[1].table.stream.bursts[1].on = 2;
  expect_refused(songs, Fault::outside_limits, {"song 2 (second)", "burst 2", "lasts 1 µs"});
}
TEST(refused_set, with_a_pause_that_is_no_pause) {
  for (const double pause_s : {-5.0, 1e9}) {
    auto songs = two_songs();
    songs[0].pause_s = pause_s;
    expect_refused(songs, Fault::usage, {"song 1 (first)", "rest"});
  }
}

// Each song fills the 10 ms window for itself; the second one has to wait.
TEST(refused_set, whose_pause_lets_windows_run_over) {
  std::vector<Burst> full;
  for (Tick i = 0; i < 38; ++i) full.push_back({i * 320, 98});
  std::vector<ImageSong> songs = {song_of(full, "first", 0.001), song_of(full, "second")};
  expect_refused(songs, Fault::outside_limits, {"song 2 (second) begins too soon", "longer pause"});
  songs[0].pause_s = 0.02;
  EXPECT_NO_THROW((void)set_image(songs, chip()));
}

ImageSong long_song(unsigned seed, Tick bursts, const std::string& title) {
  std::mt19937 dice(seed);  // gaps that follow no train
  std::vector<Burst> all;
  for (Tick i = 0; i < bursts; ++i) all.push_back({i * 3'000 + static_cast<Tick>(dice() % 2'000), 50});
  return song_of(all, title);
}

TEST(refused_set, that_does_not_fit_says_what_would) {
  const std::vector<ImageSong> songs = {long_song(1, 4'000, "one"), long_song(2, 5'000, "two"),
                                        long_song(3, 6'000, "three")};
  expect_refused(songs, Fault::outside_limits,
                 {"the set takes ", "has 32256", "the first 2 would fit: one, two", "rp2040 or stm32f103",
                  "burstloom send"});
  EXPECT_TRUE(can_hold(target_named("stm32f103"), songs));
  const SetImage fits = set_image({songs[0], songs[1]}, chip());
  EXPECT_TRUE(fits.fit.fits());
  EXPECT_EQ(fits.fit.songs_that_fit, 2u);
  expect_refused({long_song(4, 14'000, "huge")}, Fault::outside_limits, {"not even the first song"});
}

}  // namespace
}  // namespace burstloom
