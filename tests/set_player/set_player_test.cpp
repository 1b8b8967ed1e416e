// The player going through the songs of a set, on this machine. Compiled in beside the limits: three songs, a
// shortest pause of 25 ms, a longest rest of 50 ms.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/player_bench.hpp"

extern "C" {
#include "set.h"
}

namespace {

using burstloom::Tick;

struct Song {
  std::vector<Burst> bursts;
  std::uint32_t pause_ms = 0, rest_ms = 0;
};

constexpr std::size_t kDirectoryBytes = 36 + 3 * 48;

// docs/reference/table-format.md, written anew.
Bytes image_of(const std::vector<Song>& songs) {
  Bytes tables, entries;
  for (const Song& song : songs) {
    const Bytes table = table_of(song.bursts, 100, 200, song.rest_ms);
    append_word(entries, 36 + 48 * songs.size() + tables.size());
    append_word(entries, table.size());
    append_word(entries, 1'000);
    append_word(entries, song.pause_ms);
    const std::string title = "a song of the test";
    entries.insert(entries.end(), title.begin(), title.end());
    entries.resize(entries.size() + 32 - title.size());
    tables.insert(tables.end(), table.begin(), table.end());
  }
  Bytes image = table_with({.encoding = 2, .count = songs.size()}, entries);
  image.insert(image.end(), tables.begin(), tables.end());
  return image;
}

std::vector<Song> three_songs() {
  return {{{{0, 40}, {1'000, 50}, {1'300, 99}}, 40, 30},
          {{{0, 60}, {9'000, 100}, {70'000, 40}}, 120, 50},
          {{{0, 44}, {800, 45}}, 90, 20}};
}

// What the pin did, song by song, each from its first burst on, and the silences in between.
struct Evening {
  std::vector<std::vector<Burst>> songs;
  std::vector<double> pauses_ms;
};
// Songs are told apart by how many bursts each has.
Evening evening_of(const std::vector<Burst>& made, const std::vector<Song>& songs) {
  Evening evening;
  std::size_t at = 0;
  for (std::size_t i = 0; at < made.size(); ++i) {
    const std::size_t count = std::min(songs.at(i).bursts.size(), made.size() - at);
    if (at > 0)
      evening.pauses_ms.push_back(static_cast<double>(made[at].start - made[at - 1].end()) / kTicksPerMs);
    std::vector<Burst>& song = evening.songs.emplace_back();
    for (std::size_t k = 0; k < count; ++k)
      song.push_back({made[at + k].start - made[at].start, made[at + k].on});
    at += count;
  }
  return evening;
}
std::vector<std::vector<Burst>> bursts_of(const std::vector<Song>& songs) {
  std::vector<std::vector<Burst>> all;
  for (const Song& song : songs) all.push_back(song.bursts);
  return all;
}

// Armed and left alone for so long.
std::vector<Burst> whole_evening(Bench& bench, std::uint32_t ms = 1'000) {
  bench.until_armed();
  bench.run_ms(ms);
  return bench.stand_in.made;
}

TEST(set_player, plays_the_songs_in_order_with_one_arming) {
  const auto songs = three_songs();
  Bench bench(image_of(songs));
  const Evening evening = evening_of(whole_evening(bench), songs);
  EXPECT_EQ(evening.songs, bursts_of(songs));
  EXPECT_EQ(player_status.songs, 3);
  EXPECT_EQ(player_status.error, PLAYER_NO_ERROR);
  ASSERT_EQ(evening.pauses_ms.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_GE(evening.pauses_ms[i], songs[i].pause_ms) << "song " << i;
    EXPECT_LE(evening.pauses_ms[i], songs[i].pause_ms + 10) << "checking takes a moment";
  }
}

TEST(set_player, does_not_repeat_by_itself_and_begins_anew_when_armed_again) {
  Bench bench(image_of(three_songs()));
  whole_evening(bench, 5'000);
  EXPECT_EQ(player_status.songs, 3);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  bench.stand_in.arm = false;
  bench.stand_in.made.clear();
  const Evening evening = evening_of(whole_evening(bench), three_songs());
  EXPECT_EQ(evening.songs, bursts_of(three_songs()));
}

TEST(set_player, never_pauses_for_less_than_the_rest) {
  auto songs = three_songs();
  songs[0].pause_ms = 3;
  songs[0].rest_ms = 45;
  songs[1].pause_ms = songs[1].rest_ms = 0;
  Bench bench(image_of(songs));
  const Evening evening = evening_of(whole_evening(bench), songs);
  ASSERT_EQ(evening.pauses_ms.size(), 2u);
  EXPECT_GE(evening.pauses_ms[0], 45) << "the song's own rest";
  EXPECT_GE(evening.pauses_ms[1], 25) << "the shortest pause compiled in";
}

// Time spent in the step that ends a song counts for no rest: it was not yet over.
TEST(set_player, counts_the_pause_from_the_last_fall_on) {
  auto songs = three_songs();
  Bench bench(image_of(songs));
  bench.stand_in.each_rest = [](Chip& late) { late.now += 7; };
  const Evening evening = evening_of(whole_evening(bench), songs);
  EXPECT_GE(evening.pauses_ms.at(0), songs[0].pause_ms);
  EXPECT_GE(evening.pauses_ms.at(1), songs[1].pause_ms);
}

class SetBench : public Bench {
 public:
  SetBench() : Bench(image_of(three_songs())) {}
  // Until that state is reached with so many songs played.
  void until(std::uint8_t state, int songs) {
    if (!stand_in.arm) until_armed();
    for (int i = 0; i < 2'000 && (player_status.songs != songs || player_status.state != state); ++i)
      run_ms(1);
    ASSERT_EQ(player_status.songs, songs);
    ASSERT_EQ(player_status.state, state);
  }
  std::size_t made() const { return stand_in.made.size(); }
  // The hand opens arm, waits, closes it: what is played then.
  std::vector<Burst> arm_again(std::uint32_t rest_ms = 100) {
    stand_in.made.clear();
    stand_in.run = true;
    stand_in.arm = false;
    run_ms(rest_ms);
    stand_in.arm = true;
    run_ms(1'000);
    return stand_in.made;
  }
};
std::vector<Song> from_song(std::size_t first) {
  auto songs = three_songs();
  songs.erase(songs.begin(), songs.begin() + static_cast<std::ptrdiff_t>(first));
  return songs;
}

TEST(set_player, a_stop_in_the_second_song_stays_a_stop) {
  SetBench bench;
  bench.until(PLAYER_PLAYING, 1);
  bench.run_ms(1);
  const std::size_t until_then = bench.made();
  ASSERT_GT(until_then, 3u);
  ASSERT_LT(until_then, 6u);
  bench.stand_in.run = false;
  bench.run_ms(3);
  bench.stand_in.run = true;
  bench.run_ms(5'000);
  EXPECT_EQ(bench.made(), until_then) << "closed again, arm never released";
  EXPECT_EQ(player_status.error, PLAYER_STOP_OPENED);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  const auto songs = from_song(1);
  EXPECT_EQ(evening_of(bench.arm_again(), songs).songs, bursts_of(songs)) << "the stopped song anew, then on";
}

TEST(set_player, opened_arm_in_a_pause_ends_the_evening) {
  SetBench bench;
  bench.until(PLAYER_RESTING, 1);
  const std::size_t until_then = bench.made();
  bench.stand_in.arm = false;
  bench.run_ms(25);
  bench.stand_in.arm = true;
  bench.run_ms(5'000);
  EXPECT_EQ(bench.made(), until_then) << "closed again within the rest";
  EXPECT_EQ(player_status.error, PLAYER_DISARMED);
  const auto songs = from_song(1);
  EXPECT_EQ(evening_of(bench.arm_again(), songs).songs, bursts_of(songs));
}

TEST(set_player, opened_stop_in_a_pause_ends_the_evening_however_short) {
  SetBench bench;
  bench.until(PLAYER_RESTING, 2);
  const std::size_t until_then = bench.made();
  bench.stand_in.run = false;
  bench.run_ms(3);
  bench.stand_in.run = true;
  bench.run_ms(5'000);
  EXPECT_EQ(bench.made(), until_then);
  EXPECT_EQ(player_status.error, PLAYER_STOP_OPENED);
  const auto songs = from_song(2);
  EXPECT_EQ(evening_of(bench.arm_again(), songs).songs, bursts_of(songs));
}

TEST(set_player, a_clock_lost_in_a_pause_ends_the_evening) {
  SetBench bench;
  bench.until(PLAYER_RESTING, 1);
  const std::size_t until_then = bench.made();
  bench.stand_in.clock_sound = false;
  bench.run_ms(3);
  bench.stand_in.clock_sound = true;
  bench.run_ms(5'000);
  EXPECT_EQ(bench.made(), until_then);
  EXPECT_EQ(player_status.error, PLAYER_CLOCK_LOST);
}

TEST(set_player, rests_for_the_longest_rest_after_a_stop) {
  SetBench bench;
  bench.until(PLAYER_PLAYING, 2);  // its own rest is 20 ms
  bench.stand_in.run = false;
  bench.run_ms(1);
  ASSERT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_GE(player_rest_left_ms(), 48u);
}

TEST(choose, takes_the_song_that_is_there_and_none_else) {
  SetBench bench;
  EXPECT_EQ(player_choose(3), 0);
  EXPECT_EQ(player_choose(255), 0);
  EXPECT_EQ(player_choose(2), 1);
  EXPECT_EQ(player_choose(200), 0) << "changes nothing";
  const auto songs = from_song(2);
  EXPECT_EQ(evening_of(whole_evening(bench), songs).songs, bursts_of(songs)) << "the last one ends the set";
}

TEST(choose, is_for_when_nothing_is_armed) {
  SetBench bench;
  bench.until(PLAYER_PLAYING, 0);
  EXPECT_EQ(player_choose(2), 0);
  bench.until(PLAYER_RESTING, 1);
  EXPECT_EQ(player_choose(2), 0) << "the next song is coming";
  bench.stand_in.arm = false;
  bench.run_ms(25);
  EXPECT_EQ(player_choose(0), 1);
  EXPECT_EQ(player_status.state, PLAYER_RESTING) << "choosing shortens no rest";
  EXPECT_GE(player_rest_left_ms(), 25u);
  EXPECT_EQ(evening_of(bench.arm_again(), three_songs()).songs, bursts_of(three_songs()));
}

TEST(damaged_set, of_any_single_bit_in_directory_or_first_song_is_silent) {
  const Bytes sound = image_of(three_songs());
  const std::size_t first_song = table_of(three_songs()[0].bursts).size();
  for (std::size_t bit = 0; bit < (kDirectoryBytes + first_song) * 8; ++bit) {
    Bytes image = sound;
    image[bit / 8] ^= static_cast<std::uint8_t>(1 << bit % 8);
    Bench bench(image);
    EXPECT_TRUE(whole_evening(bench, 200).empty()) << "bit " << bit;
    EXPECT_EQ(player_status.state, PLAYER_FAULT);
  }
}

TEST(damaged_set, in_the_second_song_ends_after_the_first) {
  const auto songs = three_songs();
  Bytes image = image_of(songs);
  image[kDirectoryBytes + table_of(songs[0].bursts).size() + 40] ^= 1;
  Bench bench(image);
  EXPECT_EQ(evening_of(whole_evening(bench), songs).songs,
            (std::vector<std::vector<Burst>>{songs[0].bursts}));
  EXPECT_EQ(player_status.state, PLAYER_FAULT);
  EXPECT_EQ(player_status.error, TABLE_WRONG_CRC);
}

// The directory rots while the first song's pause passes.
TEST(damaged_set, directory_is_checked_before_every_song) {
  Bytes image = image_of(three_songs());
  SetBench bench;
  host_table.bytes = image.data();
  bench.until(PLAYER_RESTING, 1);
  const std::size_t until_then = bench.made();
  image[60] ^= 4;
  bench.run_ms(1'000);
  EXPECT_EQ(bench.made(), until_then);
  EXPECT_EQ(player_status.state, PLAYER_FAULT);
}

TEST(damaged_set, cut_anywhere_plays_whole_songs_at_most) {
  const auto songs = three_songs();
  const Bytes sound = image_of(songs);
  for (std::size_t size = 0; size < sound.size(); ++size) {
    Bench bench(Bytes(sound.begin(), sound.begin() + static_cast<std::ptrdiff_t>(size)));
    const Evening evening = evening_of(whole_evening(bench, 400), songs);
    EXPECT_LT(evening.songs.size(), 3u) << size << " bytes";
    for (std::size_t i = 0; i < evening.songs.size(); ++i) EXPECT_EQ(evening.songs[i], songs[i].bursts);
    EXPECT_EQ(player_status.state, PLAYER_FAULT) << size << " bytes";
  }
}

struct Place {
  std::uint32_t from, bytes;
};
void PrintTo(const Place& place, std::ostream* out) {
  *out << place.bytes << " bytes from " << place.from;
}
class misplaced : public testing::TestWithParam<Place> {};
// The checksum is right: the entry of the first song says that its table is where none can be.
TEST_P(misplaced, table_is_silent) {
  Bytes image = image_of(three_songs());
  Bytes entry;
  append_word(entry, GetParam().from);
  append_word(entry, GetParam().bytes);
  std::ranges::copy(entry, image.begin() + 36);
  seal(image, 0, kDirectoryBytes);
  Bench bench(image);
  EXPECT_TRUE(whole_evening(bench, 200).empty());
  EXPECT_EQ(player_status.state, PLAYER_FAULT);
  EXPECT_EQ(player_status.error, TABLE_WRONG_SIZE);
}
INSTANTIATE_TEST_SUITE_P(at, misplaced,
                         testing::Values(Place{0, 36}, Place{0, kDirectoryBytes}, Place{36, 60},
                                         Place{kDirectoryBytes - 1, 45}, Place{0xFFFFFFFF, 45},
                                         Place{kDirectoryBytes, 0xFFFFFFFF}, Place{kDirectoryBytes, 4'000},
                                         Place{kDirectoryBytes, 0}, Place{kDirectoryBytes, 35}));

TEST(damaged_set, with_a_table_in_place_of_the_directory_is_silent) {
  Bytes image = table_with({.encoding = 0, .count = 3}, Bytes(3 * 48, 2));
  Bench bench(image);
  EXPECT_TRUE(whole_evening(bench, 200).empty());
  EXPECT_EQ(player_status.error, TABLE_WRONG_VERSION);
}

TEST(damaged_set, with_a_directory_in_place_of_a_song_is_silent) {
  Bytes image = image_of(three_songs());
  image[kDirectoryBytes + 5] = 2;
  seal(image, kDirectoryBytes, table_of(three_songs()[0].bursts).size());
  Bench bench(image);
  EXPECT_TRUE(whole_evening(bench, 200).empty());
  EXPECT_EQ(player_status.error, TABLE_WRONG_VERSION);
}

// Whatever the directory says under a right checksum: on-time, gap and shortest pause hold, and nothing
// outside the image is read (the sanitizer build watches that).
RC_GTEST_PROP(damaged_set, never_leaves_the_limits, ()) {
  Bytes image = image_of(three_songs());
  const auto word = rc::gen::weightedOneOf<std::uint32_t>(
      {{3, rc::gen::inRange<std::uint32_t>(0, 400)}, {1, rc::gen::arbitrary<std::uint32_t>()}});
  const auto changes = *rc::gen::container<std::vector<std::pair<int, std::uint32_t>>>(
      rc::gen::pair(rc::gen::inRange(0, 36), word));
  for (const auto& [which, value] : changes) {
    Bytes bytes;
    append_word(bytes, value);
    std::ranges::copy(bytes, image.begin() + 36 + 4 * which);
  }
  seal(image, 0, kDirectoryBytes);
  Bench bench(image);
  const auto made = whole_evening(bench, 2'000);
  for (std::size_t i = 0; i < made.size(); ++i) {
    RC_ASSERT(made[i].on >= 1 && made[i].on <= 100);
    if (i > 0) RC_ASSERT(made[i].start - made[i - 1].end() >= 200);
  }
}

}  // namespace
