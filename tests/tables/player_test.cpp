// The player's portable part on this machine, with a stand-in chip that fails in named ways.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cstdio>

#include "burstloom/tables/tables.hpp"
#include "support/player_bench.hpp"
#include "support/voice_table.hpp"

namespace {

const std::vector<Burst> kTune = {{0, 40},      {1'000, 50},  {1'300, 99},
                                  {9'000, 100}, {70'000, 40}, {2'000'000, 60}};

TEST(player, plays_every_burst_on_its_tick) {
  Bench bench(table_of(kTune));
  EXPECT_EQ(bench.play(), kTune);
  EXPECT_EQ(player_status.songs, 1);
  EXPECT_EQ(player_status.error, PLAYER_NO_ERROR);
  EXPECT_EQ(player_status.made, kTune.size());
  EXPECT_EQ(player_status.missed, 0u);
}

TEST(player, holds_the_compiled_limits_against_the_table) {
  Bench bench(table_of({{0, 40}, {100, 40}, {1'000, 30'000}, {40'000, 40}}));
  // The gap of 60 ticks is raised to 200, which moves what follows by 140; the on-time is cut to 100.
  EXPECT_EQ(bench.play(), (std::vector<Burst>{{0, 40}, {240, 40}, {1'140, 100}, {40'140, 40}}));
}

struct Damage {
  std::size_t at;
  std::uint8_t value;
  int error;
};
void PrintTo(const Damage& damage, std::ostream* out) {
  *out << "byte " << damage.at << " = " << int{damage.value};
}
class damaged : public testing::TestWithParam<Damage> {};
TEST_P(damaged, header_is_silent_though_the_checksum_is_right) {
  Bytes table = table_of(kTune);
  table[GetParam().at] = GetParam().value;
  seal(table);
  Bench bench(table);
  EXPECT_TRUE(bench.play(1'000).empty());
  EXPECT_EQ(player_status.state, PLAYER_FAULT);
  EXPECT_EQ(player_status.error, GetParam().error);
}
INSTANTIATE_TEST_SUITE_P(at, damaged,
                         testing::Values(Damage{0, 'X', TABLE_NO_MAGIC}, Damage{4, 2, TABLE_WRONG_VERSION},
                                         Damage{5, 2, TABLE_WRONG_VERSION}, Damage{6, 35, TABLE_WRONG_SIZE},
                                         Damage{8, 1, TABLE_WRONG_TICK_RATE}, Damage{16, 1, TABLE_WRONG_SIZE},
                                         Damage{20, 101, TABLE_WRONG_LIMITS},
                                         Damage{24, 199, TABLE_WRONG_LIMITS},
                                         Damage{28, 51, TABLE_WRONG_LIMITS}));

TEST(damaged_table, of_any_single_bit_is_silent) {
  const Bytes sound = table_of(kTune);
  for (std::size_t bit = 0; bit < sound.size() * 8; ++bit) {
    Bytes table = sound;
    table[bit / 8] ^= static_cast<std::uint8_t>(1 << bit % 8);
    Bench bench(table);
    EXPECT_TRUE(bench.play(100).empty()) << "bit " << bit;
  }
}

TEST(damaged_table, cut_anywhere_is_silent) {
  const Bytes sound = table_of(kTune);
  for (std::size_t size = 0; size < sound.size(); ++size) {
    Bench bench(Bytes(sound.begin(), sound.begin() + static_cast<std::ptrdiff_t>(size)));
    EXPECT_TRUE(bench.play(100).empty()) << size << " bytes";
  }
}

TEST(damaged_table, that_ends_inside_the_song_ends_the_song) {
  Bytes table = table_of(kTune);
  table[12] = 200;  // more bursts than there are
  seal(table);
  Bench bench(table);
  EXPECT_EQ(bench.play(), kTune);
  EXPECT_EQ(player_status.error, TABLE_MALFORMED);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
}

// What host/burst_table.h allows in any 20 000 ticks (2 000 of on-time, 40 starts) times the factor that ten
// slots leave: half a slot holds 400 ticks, 5 starts more (docs/reference/guard-on-chip.md). Every window
// that ends with a burst is counted.
bool within_windows(const std::vector<Burst>& made) {
  for (const Burst& last : made) {
    burstloom::Tick on = 0, starts = 0;
    const burstloom::Tick from = last.end() - 20'000;
    for (const Burst& burst : made) {
      on += std::max<burstloom::Tick>(0, std::min(burst.end(), last.end()) - std::max(burst.start, from));
      starts += burst.start >= from && burst.start < last.end() ? 1 : 0;
    }
    if (on > 2'400 || starts > 45) return false;
  }
  return true;
}

// Whatever the data say under a right checksum: limits hold, the player comes to an end or goes on, and reads
// nothing outside the table (the sanitizer build watches that).
RC_GTEST_PROP(damaged_table, never_leaves_the_limits, (Bytes data)) {
  Bytes table = table_of({});
  table[12] = 255;
  table[16] = static_cast<std::uint8_t>(data.size());
  table[17] = static_cast<std::uint8_t>(data.size() >> 8);
  table.insert(table.end(), data.begin(), data.end());
  seal(table);
  Bench bench(table);
  const auto made = bench.play(3'000);
  for (std::size_t i = 0; i < made.size(); ++i) {
    RC_ASSERT(made[i].on >= 1 && made[i].on <= 100);
    if (i > 0) RC_ASSERT(made[i].start - made[i - 1].end() >= 200);
  }
  RC_ASSERT(within_windows(made));
}

TEST(player, skips_and_counts_what_is_too_late_and_stays_on_time) {
  std::vector<Burst> song;
  for (burstloom::Tick i = 0; i < 1'000; ++i) song.push_back({i * 700, 40 + i % 9});
  Bench bench(table_of(song));
  int rests = 0;
  bench.stand_in.each_rest = [&](Chip& late) {
    if (++rests % 74 == 0) late.now += 5'000;  // two rests a burst
  };
  const auto made = bench.play();
  EXPECT_EQ(player_status.songs, 1);
  EXPECT_EQ(made.size() + player_status.missed, song.size());
  EXPECT_GT(player_status.missed, 50u);
  EXPECT_LT(player_status.missed, 27u * 8 + 8);  // a block of 5 000 ticks covers at most eight of them
  const auto zero = song[0].start;
  std::size_t next = 0;
  for (const Burst& burst : made) {
    while (next < song.size() && song[next].start - zero != burst.start) ++next;
    ASSERT_LT(next, song.size()) << "a burst at " << burst.start << " that is none of the song's";
    EXPECT_EQ(song[next].on, burst.on);
  }
}

TEST(player, stops_when_the_stop_input_opens) {
  Bench bench(table_of(kTune));
  bench.until_armed();
  bench.run_ms(40);
  ASSERT_EQ(player_status.state, PLAYER_PLAYING);
  bench.stand_in.run = false;
  bench.run_ms(1);
  const auto until_then = bench.stand_in.made;
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_EQ(player_status.error, PLAYER_STOP_OPENED);
  bench.stand_in.run = true;
  bench.run_ms(2'000);
  EXPECT_EQ(bench.stand_in.made, until_then) << "closed again: starts nothing while arm was never released";
}

TEST(player, stops_when_the_clock_is_lost) {
  Bench bench(table_of(kTune));
  bench.until_armed();
  bench.run_ms(40);
  bench.stand_in.clock_sound = false;
  bench.run_ms(10);
  EXPECT_EQ(player_status.error, PLAYER_CLOCK_LOST);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
}

TEST(player, checks_the_table_before_every_start) {
  Bytes table = table_of(kTune);
  Bench bench(table);
  ASSERT_EQ(bench.play(), kTune);
  const std::vector<Burst> before = bench.stand_in.made;
  host_table.bytes = table.data();
  table.back() ^= 1;  // rots between two songs
  bench.stand_in.arm = false;
  bench.play(1'000);
  EXPECT_EQ(player_status.state, PLAYER_FAULT);
  EXPECT_EQ(bench.stand_in.made, before);
}

TEST(player, wants_rest_release_and_arm_for_every_start) {
  Bench bench(table_of(kTune));
  bench.stand_in.arm = true;  // held from reset
  bench.run_ms(1'000);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  bench.stand_in.arm = false;
  bench.run_ms(40);
  EXPECT_EQ(player_status.state, PLAYER_READY);
  bench.stand_in.arm = true;
  bench.run_ms(10);
  bench.stand_in.arm = false;  // a bounce
  bench.run_ms(40);
  EXPECT_EQ(player_status.state, PLAYER_READY);
  bench.stand_in.run = false;
  bench.stand_in.arm = true;
  bench.run_ms(40);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE) << "given while stop was open";
  EXPECT_TRUE(bench.stand_in.made.empty());
}

TEST(player, rests_after_the_song) {
  Bench bench(table_of({{0, 40}}));
  bench.play();
  bench.stand_in.arm = false;
  bench.run_ms(25);
  bench.stand_in.arm = true;
  bench.run_ms(200);
  EXPECT_EQ(bench.stand_in.made.size(), 1u) << "armed again within 50 ms of rest";
  bench.stand_in.arm = false;
  bench.run_ms(40);
  bench.stand_in.arm = true;
  bench.run_ms(200);
  EXPECT_EQ(bench.stand_in.made.size(), 2u);
}

TEST(player, keeps_back_what_the_windows_have_no_room_for) {
  std::vector<Burst> dense;
  for (burstloom::Tick i = 0; i < 300; ++i) dense.push_back({i * 300, 100});
  Bench bench(table_of(dense));
  const auto made = bench.play();
  EXPECT_EQ(player_status.songs, 1) << "the song goes on in time";
  EXPECT_EQ(made.size() + player_status.refused, dense.size());
  EXPECT_TRUE(within_windows(made));
  EXPECT_GT(made.size(), 80u) << "a tenth of 90 000 ticks, in bursts of 100";
}

// Two songs in a row, the first one broken off when its window is full: the second cannot add to it.
TEST(player, remembers_the_song_before) {
  std::vector<Burst> dense;
  for (burstloom::Tick i = 0; i < 20; ++i) dense.push_back({i * 300, 100});
  Bench bench(table_of(dense));
  bench.play();
  EXPECT_EQ(player_status.refused, 0u);
  bench.stand_in.arm = false;
  bench.run_ms(90);
  bench.play();
  EXPECT_EQ(player_status.songs, 2);
  EXPECT_EQ(player_status.refused, 0u) << "after the rest there is room again";
  EXPECT_TRUE(within_windows(bench.stand_in.made));
}

// Every fault there is of one bit or one cut, once as the checksum sees it and once with the checksum made
// right again, so that the guard has to do the work. What the pin did is judged each time.
class Faults {
 public:
  explicit Faults(Bytes sound) : sound_(std::move(sound)) {}

  void flip_each_bit(bool sealed) {
    for (std::size_t bit = 0; bit < sound_.size() * 8; ++bit) {
      Bytes table = sound_;
      table[bit / 8] ^= static_cast<std::uint8_t>(1 << bit % 8);
      try_one(std::move(table), sealed, "bit " + std::to_string(bit));
    }
  }
  void cut_at_each_byte(bool sealed) {
    for (std::size_t size = 0; size < sound_.size(); ++size)
      try_one({sound_.begin(), sound_.begin() + static_cast<std::ptrdiff_t>(size)}, sealed,
              "cut to " + std::to_string(size) + " bytes");
  }
  // As above, and with the length in the header made right, too.
  void cut_with_right_length() {
    for (std::size_t size = 36; size < sound_.size(); ++size) {
      Bytes table(sound_.begin(), sound_.begin() + static_cast<std::ptrdiff_t>(size));
      table[16] = static_cast<std::uint8_t>(size - 36);
      table[17] = static_cast<std::uint8_t>((size - 36) >> 8);
      try_one(std::move(table), true, "cut with right length to " + std::to_string(size) + " bytes");
    }
  }

  void try_all() {
    flip_each_bit(false);
    cut_at_each_byte(false);
    EXPECT_EQ(silent, tried) << "the checksum tells";
    flip_each_bit(true);
    cut_at_each_byte(true);
    cut_with_right_length();
    std::printf(
        "%d faults: %d silent, %d broken off, %d kept back by the guard, %d played inside the limits\n",
        tried, silent, broken_off, kept_back, played_through);
  }

  int tried = 0, silent = 0, broken_off = 0, kept_back = 0, played_through = 0;

 private:
  void try_one(Bytes table, bool sealed, const std::string& what) {
    if (sealed) seal(table);
    Bench bench(std::move(table));
    const auto made = bench.play(2'000);
    ++tried;
    for (std::size_t i = 0; i < made.size(); ++i) {
      EXPECT_TRUE(made[i].on >= 1 && made[i].on <= 100) << what;
      EXPECT_TRUE(i == 0 || made[i].start - made[i - 1].end() >= 200) << what;
    }
    EXPECT_TRUE(within_windows(made)) << what;
    EXPECT_TRUE(sealed || made.empty()) << what;
    if (player_status.state == PLAYER_FAULT) {
      ++silent;
      EXPECT_TRUE(made.empty()) << what;
    } else if (player_status.error != PLAYER_NO_ERROR) {
      ++broken_off;
    } else if (player_status.refused > 0) {
      ++kept_back;
    } else {
      ++played_through;
    }
  }
  Bytes sound_;
};

TEST(damaged_table, of_every_kind_keeps_the_limits) {
  std::vector<Burst> song;  // nearly as full as the windows allow
  burstloom::Tick at = 0;
  for (burstloom::Tick i = 0; i < 120; ++i) {
    song.push_back({at, 60 + i % 3 * 20});
    at += i % 20 == 19 ? 5'000 : 700 + i % 7 * 40;
  }
  Faults faults(table_of(song, 100, 200));
  {
    Bench bench(table_of(song));
    ASSERT_EQ(bench.play(), song) << "the sound table plays whole";
    ASSERT_EQ(player_status.refused, 0u);
  }
  faults.try_all();
  EXPECT_GT(faults.broken_off, 0);
  EXPECT_GT(faults.kept_back, 0);
  EXPECT_GT(faults.played_through, 0);
}

// Two voices that meet now and then, as a table of voices with corrections.
TEST(damaged_table, of_voices_keeps_the_limits) {
  burstloom::BurstStream stream{2'000'000, 0, {}};
  burstloom::Account account;
  account.notes = {{.voice = 0}, {.voice = 1}};
  burstloom::Tick next[] = {500, 700}, free = 0;
  for (int i = 0; i < 160; ++i) {
    const std::uint32_t voice = next[0] <= next[1] ? 0 : 1;
    const burstloom::Tick wanted = next[voice], start = std::max(wanted, free), on = 60 + i % 40 / 10 * 10;
    next[voice] += (voice == 0 ? 2'111 : 3'400) + i % 50;
    if (start != wanted)
      account.changes.push_back({.note = voice,
                                 .wanted_start = wanted,
                                 .wanted_on = on,
                                 .burst = static_cast<std::uint32_t>(stream.bursts.size()),
                                 .fate = burstloom::Fate::shifted});
    stream.bursts.push_back({start, on});
    account.note_of_burst.push_back(voice);
    free = start + on + 260;
  }
  const auto table =
      burstloom::table_detail::voice_table(stream, burstloom::table_detail::wishes_of(stream, account),
                                           {.on_max = 100, .gap_min = 200, .rest_ms = 50});
  ASSERT_TRUE(table);
  Faults faults(*table);
  {
    Bench bench(*table);
    ASSERT_EQ(bench.play().size(), stream.bursts.size()) << "the sound table plays whole";
  }
  faults.try_all();
  EXPECT_GT(faults.broken_off, 0);
  EXPECT_GT(faults.played_through, 0);
}

// CRC-32 check value of ISO-HDLC: "123456789" gives CBF43926 (the player covers all but bytes 32 to 35).
TEST(player, computes_the_common_crc) {
  const std::string text = "123456789";
  compile_in(reinterpret_cast<const std::uint8_t*>(text.data()), 9);
  table_check check{};
  table_check_begin(&check);
  while (table_check_some(&check, 4) == 0) {
  }
  EXPECT_EQ(check.crc ^ 0xFFFFFFFFu, 0xCBF43926u);
}

}  // namespace
