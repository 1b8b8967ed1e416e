// Both ends of the link on a wire that fails in named ways. Limits compiled in: 100 ticks of on-time, 200 of
// gap, 50 ms of rest (host/burst_table.h).
#include <gtest/gtest.h>

#include "burstloom/common/error.hpp"
#include "wire.hpp"

namespace link_check {
namespace {

using burstloom::Burst;
using burstloom::Bytes;
using burstloom::Sender;
using Ending = Sender::Ending;
using Phase = Sender::Phase;

// Of the song's bursts, the first as many as were made, each on its tick.
void expect_start_of(const burstloom::BurstStream& song, const std::vector<Burst>& made) {
  ASSERT_LE(made.size(), song.bursts.size());
  auto start = song.bursts;
  start.resize(made.size());
  EXPECT_EQ(from_first(made), from_first(start));
}

TEST(link, plays_every_burst_on_its_tick) {
  const auto song = song_like(30'000, 1);
  Bench bench;
  bench.play(song);
  EXPECT_EQ(bench.sender->ending(), Ending::played);
  EXPECT_EQ(from_first(bench.made), from_first(song.bursts));
  EXPECT_EQ(player_status.songs, 1);
  EXPECT_EQ(player_status.missed, 0u);
  EXPECT_EQ(bench.sender->frames_sent_again(), 0);
  EXPECT_EQ(bench.sender->status().damaged, 0);
}

// Frame numbers and bytes have 16 bits on the wire: both turn over.
TEST(link, plays_on_when_frame_numbers_turn_over) {
  burstloom::BurstStream song;
  for (burstloom::Tick i = 0; i < 1'450'000; ++i) song.bursts.push_back({i * 1'000, 40 + i % 2});
  song.length = song.bursts.back().end();
  ASSERT_GT(burstloom::plan_of(song).pieces.size(), 65'536u);
  Bench bench;
  bench.play(song, 1'000'000);
  EXPECT_EQ(bench.sender->ending(), Ending::played);
  EXPECT_TRUE(from_first(bench.made) == song.bursts);
}

TEST(link, of_a_single_burst) {
  Bench bench;
  bench.play({burstloom::kDefaultTickHz, 100, {{0, 50}}});
  EXPECT_EQ(bench.sender->ending(), Ending::played);
  EXPECT_EQ(bench.made.size(), 1u);
}

TEST(noisy_link, of_one_byte_in_500_plays_the_whole_song) {
  for (unsigned seed = 1; seed <= 10; ++seed) {
    const auto song = song_like(5'000, seed);
    Bench bench;
    bench.to_chip.noise = noise_one_in(500, seed);
    bench.to_host.noise = noise_one_in(500, seed + 100);
    bench.play(song);
    EXPECT_EQ(bench.sender->ending(), Ending::played) << int{player_status.error};
    EXPECT_EQ(from_first(bench.made), from_first(song.bursts));
    EXPECT_GT(bench.sender->frames_sent_again(), 10);
    EXPECT_LT(bench.sender->frames_sent_again(), 1'000);
  }
}

// However bad the line: what is played is the song's start, and when it breaks off the player says so.
TEST(noisy_link, however_bad_plays_the_start_of_the_song) {
  int broken_off = 0;
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const auto song = song_like(2'000, seed);
    Bench bench;
    bench.to_chip.noise = noise_one_in(2 + seed * 2, seed);
    bench.play(song, 20'000);
    expect_within_limits(bench.made);
    expect_start_of(song, bench.made);
    if (bench.made.size() < song.bursts.size()) ++broken_off;
  }
  EXPECT_GT(broken_off, 5);
  EXPECT_LT(broken_off, 55);
}

// Frames lost, doubled, cut and exchanged as wholes, checksums right.
TEST(noisy_link, of_whole_frames_lost_doubled_and_cut_plays_the_whole_song) {
  for (unsigned seed = 1; seed <= 10; ++seed) {
    const auto song = song_like(3'000, seed);
    Bench bench;
    std::mt19937 dice(seed);
    Bytes kept_back;
    bench.meddle = [&](Bytes& out) {
      if (out.empty() || dice() % 40 != 0) return void(kept_back = out);
      switch (dice() % 4) {
        case 0:
          out = {0};
          break;
        case 1:
          out.insert(out.end(), out.begin(), out.end());
          break;
        case 2:
          out.resize(out.size() / 2 + 1);
          break;
        default:  // an old frame once more
          out.insert(out.end(), kept_back.begin(), kept_back.end());
      }
    };
    bench.play(song);
    EXPECT_EQ(bench.sender->ending(), Ending::played) << int{player_status.error};
    EXPECT_EQ(from_first(bench.made), from_first(song.bursts));
  }
}

// Nothing comes after the last frame that could show its loss: the signs of life do.
TEST(noisy_link, that_loses_the_last_frame_plays_the_whole_song) {
  const auto song = song_like(300, 8);
  const auto last = static_cast<std::uint8_t>(burstloom::plan_of(song).pieces.size() - 1);
  const Bytes end = burstloom::frame_of({LINK_BURSTS, 1, last, 0});
  Bench bench;
  int lost = 0;
  bench.meddle = [&](Bytes& out) {
    if (lost == 2 || out.size() < end.size() || !std::equal(end.rbegin(), end.rend(), out.rbegin())) return;
    out.resize(out.size() - end.size() + 1);  // cut short
    out.back() = 0;
    ++lost;
  };
  bench.play(song);
  EXPECT_EQ(lost, 2);
  EXPECT_EQ(bench.sender->ending(), Ending::played) << int{player_status.error};
  EXPECT_EQ(bench.made.size(), song.bursts.size());
}

TEST(lost_link, is_silence_within_100_ms) {
  const auto song = song_like(5'000, 3);
  for (int k = 0; k < 50; ++k) {
    Bench bench;
    bench.play(song, 500 + k * 7);
    ASSERT_EQ(player_status.state, PLAYER_PLAYING);
    bench.to_chip.cut = true;
    bench.to_chip.bytes.clear();
    const std::int64_t unplugged = bench.now;
    bench.run_ms(300);
    EXPECT_LE(bench.made.back().end(), unplugged + 100 * kTicksPerMs);
    EXPECT_EQ(player_status.songs, 0);
    EXPECT_TRUE(player_status.error == PLAYER_LINK_LOST || player_status.error == PLAYER_STARVED);
    const auto until_then = bench.made.size();
    bench.run_ms(1'000);
    EXPECT_EQ(bench.made.size(), until_then);
    EXPECT_EQ(bench.sender->phase(), Phase::over);
  }
}

TEST(lost_link, in_a_long_rest_ends_the_song_too) {
  Bench bench;
  bench.play({burstloom::kDefaultTickHz, 20'000'000, {{0, 50}, {10'000'000, 50}}}, 1'000);
  ASSERT_EQ(player_status.state, PLAYER_PLAYING);
  bench.sender_lives = false;
  bench.run_ms(100);
  EXPECT_EQ(player_status.error, PLAYER_LINK_LOST);
  bench.run_ms(10'000);
  EXPECT_EQ(bench.made.size(), 1u);
}

TEST(lost_link, of_the_players_answers_is_told) {
  const auto song = song_like(5'000, 3);
  Bench bench;
  bench.play(song, 500);
  bench.to_host.cut = true;
  bench.run_ms(3'000);
  EXPECT_EQ(bench.sender->ending(), Ending::no_answer);
  EXPECT_EQ(player_status.error, PLAYER_LINK_LOST);
}

TEST(starved, player_rests_at_once_and_says_why) {
  const auto song = song_like(5'000, 4);
  Bench bench;
  bool dry = false;
  bench.meddle = [&](Bytes& out) {
    if (dry) out = burstloom::frame_of({LINK_ALIVE, 1, 0, 0});  // signs of life come, bursts stay away
  };
  bench.play(song, 300);
  ASSERT_EQ(player_status.state, PLAYER_PLAYING);
  dry = true;
  bench.run_sender();
  EXPECT_EQ(player_status.error, PLAYER_STARVED);
  EXPECT_EQ(bench.sender->ending(), Ending::ended);
  EXPECT_EQ(bench.sender->status().error, PLAYER_STARVED);
  expect_start_of(song, bench.made);
  EXPECT_LT(bench.made.size(), song.bursts.size());
}

TEST(arm, without_a_song_on_offer_starts_nothing) {
  Bench bench;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.arm = true;
  bench.run_ms(100);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  const auto song = song_like(100, 5);
  bench.send(song);
  bench.run_ms(1'000);
  EXPECT_TRUE(bench.made.empty()) << "armed before the song was offered";
  bench.arm = false;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.arm = true;
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::played);
}

TEST(arm, after_the_sender_has_gone_starts_nothing) {
  const auto song = song_like(100, 5);
  Bench bench;
  bench.send(song);
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.run_ms(100);
  bench.sender_lives = false;
  bench.run_ms(100);
  bench.arm = true;
  bench.run_ms(1'000);
  EXPECT_TRUE(bench.made.empty());
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  EXPECT_EQ(player_status.error, PLAYER_NO_ERROR) << "the offer had lapsed, there was no song to lose";
}

TEST(arm, is_wanted_for_every_song) {
  const auto song = song_like(100, 5);
  Bench bench;
  bench.play(song);
  ASSERT_EQ(bench.sender->ending(), Ending::played);
  bench.send(song, kOffer, 2);
  bench.run_ms(1'000);
  EXPECT_EQ(bench.made.size(), 100u);
  bench.arm = false;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.arm = true;
  bench.run_sender();
  EXPECT_EQ(bench.made.size(), 200u);
}

TEST(rest, lasts_as_long_as_the_song_asks_and_never_shorter_than_compiled_in) {
  const auto song = song_like(100, 5);
  for (const auto& [asked_ms, kept_ms] : {std::pair{700, 700}, std::pair{0, 50}}) {
    Bench bench;
    bench.send(song, {100, 200, asked_ms});
    ASSERT_TRUE(bench.until(PLAYER_READY));
    bench.run_ms(50);
    bench.arm = true;
    bench.run_sender();
    ASSERT_EQ(bench.sender->ending(), Ending::played);
    bench.run_ms(kept_ms - 20);
    EXPECT_EQ(player_status.state, PLAYER_RESTING);
    bench.run_ms(40);
    EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  }
}

TEST(stop, of_the_sender_ends_the_song) {
  const auto song = song_like(5'000, 6);
  Bench bench;
  bench.play(song, 400);
  ASSERT_EQ(player_status.state, PLAYER_PLAYING);
  bench.sender->stop();
  const std::int64_t asked = bench.now;
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::stopped);
  EXPECT_EQ(player_status.error, PLAYER_HOST_STOPPED);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_LE(bench.made.back().end(), asked + 20 * kTicksPerMs);
}

TEST(stop, before_the_player_is_armed_withdraws_the_offer) {
  const auto song = song_like(100, 6);
  Bench bench;
  bench.send(song);
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.sender->stop();
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::stopped);
  bench.arm = true;
  bench.run_ms(1'000);
  EXPECT_TRUE(bench.made.empty());
}

TEST(stop, input_opened_ends_the_song_and_is_told) {
  const auto song = song_like(5'000, 6);
  Bench bench;
  bench.play(song, 400);
  bench.run = false;
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::ended);
  EXPECT_EQ(bench.sender->status().error, PLAYER_STOP_OPENED);
  expect_start_of(song, bench.made);
  EXPECT_NEAR(bench.sender->position_s(), song.seconds(song.bursts[bench.made.size() - 1].end()), 1e-9);
}

TEST(reset, of_the_player_in_mid_song_is_told) {
  const auto song = song_like(5'000, 6);
  Bench bench;
  bench.play(song, 400);
  player_begin();
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::reset);
}

TEST(nobody, at_the_other_end_is_told) {
  const auto song = song_like(10, 6);
  Bench bench;
  bench.to_chip.cut = true;
  bench.send(song);
  bench.run_sender();
  EXPECT_EQ(bench.sender->ending(), Ending::no_player);
  EXPECT_GT(bench.now, 4'900 * kTicksPerMs) << "a board that has just been reset is waited for";
}

void expect_refused(const burstloom::SongOffer& offer, const burstloom::BurstStream& song) {
  Bench bench;
  bench.send(song, offer);
  try {
    bench.run_ms(500);
    FAIL() << "not refused";
  } catch (const burstloom::Error& error) {
    EXPECT_EQ(error.fault(), burstloom::Fault::outside_limits);
    EXPECT_NE(error.problem().find("50 µs"), std::string::npos)
        << error.problem();  // 100 ticks, the player's
  }
}

TEST(limits, of_a_player_for_another_coil_are_refused) {
  const auto song = song_like(10, 7);
  expect_refused({99, 200, 0}, song);
  expect_refused({100, 201, 0}, song);
}
TEST(limits, narrower_than_the_song_needs_are_refused) {
  expect_refused({200, 100, 0}, {burstloom::kDefaultTickHz, 1'000, {{0, 101}}});
  expect_refused({200, 100, 0}, {burstloom::kDefaultTickHz, 1'000, {{0, 50}, {249, 50}}});
}

// A host that means harm, or is broken: right frames, any content.
class hostile : public testing::Test {
 protected:
  void offer(Bench& bench, std::uint8_t on_max = 100) { write(bench, begin_of(LINK_SONG, on_max)); }
  void bursts(Bench& bench, std::uint16_t number, const Bytes& data) {
    Bytes body = {LINK_BURSTS, 7, static_cast<std::uint8_t>(number), static_cast<std::uint8_t>(number >> 8)};
    body.insert(body.end(), data.begin(), data.end());
    write(bench, body);
  }
  void write(Bench& bench, const Bytes& body) { bench.to_chip.write(bench.now, burstloom::frame_of(body)); }
  void arm(Bench& bench) {
    ASSERT_TRUE(bench.until(PLAYER_READY));
    bench.to_chip.write(bench.now, Bytes{0});
    for (int i = 0; i < 3; ++i) {
      offer(bench);
      bench.arm = true;
      bench.run_ms(20);
    }
    ASSERT_EQ(player_status.state, PLAYER_CHECKING);
  }
};

TEST_F(hostile, bursts_are_clamped) {
  Bench bench;
  arm(bench);
  bursts(bench, 0, {1, 0x90, 0x4E, 0, 20, 21, 10});  // 10 000 ticks on; again at once; after 10; on for 10
  bursts(bench, 1, {});
  bench.run_ms(100);
  EXPECT_EQ(from_first(bench.made),
            (std::vector<Burst>{{0, 100}, {10'200, 100}, {20'400, 100}, {30'600, 10}}))
      << "the schedule counts with the on-times as they were sent";
}
TEST_F(hostile, wider_limits_are_refused) {
  Bench bench;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.to_chip.write(bench.now, Bytes{0});
  for (int i = 0; i < 3; ++i) {
    offer(bench, 101);
    bench.arm = true;
    bench.run_ms(20);
  }
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  EXPECT_EQ(player_status.error, TABLE_WRONG_LIMITS);
}
TEST_F(hostile, bursts_before_the_player_is_armed_are_not_kept) {
  Bench bench;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.to_chip.write(bench.now, Bytes{0});
  offer(bench);
  bursts(bench, 0, {1, 50});
  bench.run_ms(20);
  arm(bench);
  bench.run_ms(60);
  EXPECT_TRUE(bench.made.empty());
}
TEST_F(hostile, bursts_before_the_player_is_armed_do_not_count_as_sent) {
  Bench bench;
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.to_chip.write(bench.now, Bytes{0});
  offer(bench);
  bursts(bench, 0, {1, 50});
  bursts(bench, 1, {});
  bench.arm = true;
  for (int i = 0; i < 10; ++i) {
    write(bench, {LINK_ALIVE, 7, 2, 0});
    bench.run_ms(20);
  }
  EXPECT_EQ(player_status.state, PLAYER_CHECKING);
  EXPECT_TRUE(bench.made.empty());
}
TEST_F(hostile, a_zero_behind_the_checksum_is_no_burst) {
  Bench bench;
  arm(bench);
  Bytes wire = burstloom::frame_of({LINK_BURSTS, 7, 0, 0, 1, 50});
  wire.back() = 1;
  wire.push_back(0);
  bench.to_chip.write(bench.now, wire);
  bursts(bench, 0, {1, 60});
  bursts(bench, 1, {});
  bench.run_ms(40);
  EXPECT_EQ(from_first(bench.made), (std::vector<Burst>{{0, 60}}));
}
TEST_F(hostile, another_offer_in_mid_song_changes_nothing) {
  Bench bench;
  arm(bench);
  bursts(bench, 0, {1, 50, 0xC0, 0x9A, 0x0C, 0xC0, 0x9A, 0x0C});  // 50 ms apart
  bench.run_ms(10);
  offer(bench);
  bursts(bench, 1, {});
  for (int i = 0; i < 20; ++i) {
    write(bench, {LINK_ALIVE, 7, 2, 0});
    bench.run_ms(10);
  }
  EXPECT_EQ(bench.made.size(), 3u);
  EXPECT_EQ(player_status.songs, 1);
}
TEST_F(hostile, numbers_that_break_off_end_the_song) {
  for (const Bytes& data : {Bytes{0x80}, Bytes{1}, Bytes{0}, Bytes{1, 0},
                            Bytes{0x81, 0x80, 0x80, 0x80, 0x80, 1}, Bytes{1, 0x80, 0x80, 4}}) {
    Bench bench;
    arm(bench);
    bursts(bench, 0, data);
    bursts(bench, 1, {});
    bench.run_ms(40);
    EXPECT_EQ(player_status.error, TABLE_MALFORMED);
    EXPECT_EQ(player_status.state, PLAYER_RESTING);
    EXPECT_TRUE(bench.made.empty());
  }
}
// More than there is room for: the frame is not taken, the song goes on with what it has.
TEST_F(hostile, more_bursts_than_there_is_room_for_are_not_taken) {
  Bench bench;
  arm(bench);
  const Bytes data(64, 20);
  bursts(bench, 0, {1, 50});
  for (std::uint16_t i = 1; i < 40; ++i) bursts(bench, i, data);
  bench.run_ms(5);
  for (int i = 0; i < 100; ++i) {
    write(bench, {LINK_ALIVE, 7, 40, 0});
    bench.run_ms(5);
  }
  expect_within_limits(bench.made);
  EXPECT_GT(bench.made.size(), 900u);
  EXPECT_EQ(player_status.error, PLAYER_STARVED);
}

// Random frames with a right checksum, and random bytes, at an armed player: whatever it makes of them keeps
// the limits (and reads nothing outside its memory: the sanitizer build watches that).
class random_wire : public testing::TestWithParam<std::uint8_t> {};
TEST_P(random_wire, never_leaves_the_limits) {
  std::size_t made = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    std::mt19937 dice(seed);
    const auto random_bytes = [&](std::size_t count) {
      Bytes bytes(count);
      for (std::uint8_t& byte : bytes) byte = static_cast<std::uint8_t>(dice() % (dice() % 2 == 0 ? 4 : 256));
      return bytes;
    };
    Bench bench;
    ASSERT_TRUE(bench.until(PLAYER_READY));
    bench.to_chip.write(bench.now, Bytes{0});
    std::uint16_t number = 0;
    for (int turn = 0; turn < 200; ++turn) {
      bench.to_chip.write(bench.now, burstloom::frame_of(begin_of(GetParam())));
      bench.arm = turn % 40 > 4;
      if (player_status.state != PLAYER_CHECKING && player_status.state != PLAYER_PLAYING) number = 0;
      Bytes body = random_bytes(dice() % 80);
      const unsigned kind = dice() % 8;
      if (kind < 6) {
        const Bytes head = {LINK_BURSTS, 7, static_cast<std::uint8_t>(number),
                            static_cast<std::uint8_t>(number >> 8)};
        body.resize(dice() % 8 == 0 ? 0 : dice() % 63);
        if (number == 0) body.insert(body.begin(), {1, 50});
        body.insert(body.begin(), head.begin(), head.end());
        ++number;
      }
      bench.to_chip.write(bench.now, kind == 6 ? body : burstloom::frame_of(body));
      bench.run_ms(6);
    }
    expect_within_limits(bench.made);
    made += bench.made.size();
  }
  EXPECT_GT(made, 1'000u) << "else nothing was put to the test";
}
INSTANTIATE_TEST_SUITE_P(encoding, random_wire, testing::Values(LINK_SONG, LINK_LIVE));

// The other way round: whatever a player says, the sender sends frames of the song only, in order.
TEST(random_player, gets_nothing_but_the_song) {
  const auto song = song_like(2'000, 9);
  const auto plan = burstloom::plan_of(song);
  std::size_t frames = 0;
  for (unsigned seed = 1; seed <= 50; ++seed) {
    std::mt19937 dice(seed);
    Sender sender(song, kOffer, "the wire", 1, 115'200);
    sender.receive(
        0,
        burstloom::frame_of(
            {LINK_PLAYER, LINK_VERSION, 0x80, 0x84, 0x1E, 0, 100, 0, 0, 0, 200, 0, 0, 0, 0, 0, 0, 0, 0, 4}));
    burstloom::FrameReader reader;
    for (int turn = 1; turn <= 300; ++turn) {
      Bytes status(26);
      for (std::uint8_t& byte : status)
        byte = static_cast<std::uint8_t>(dice() % (dice() % 2 == 0 ? 4 : 256));
      status[0] = LINK_STATUS;
      status[1] = 1;
      status[2] = dice() % 50 == 0 ? 0 : 4;
      sender.receive(turn * 0.01, burstloom::frame_of(status));
      for (const Bytes& body : reader.take(sender.to_send(turn * 0.01))) {
        if (body[0] != LINK_BURSTS) continue;
        const std::size_t number = body[2] + 256u * body[3];
        ASSERT_LT(number, plan.pieces.size());
        const auto at = [&](std::size_t offset) {
          return plan.data.begin() + static_cast<std::ptrdiff_t>(offset);
        };
        EXPECT_EQ(Bytes(body.begin() + 4, body.end()),
                  Bytes(at(plan.pieces[number].begin), at(plan.pieces[number].end)));
        ++frames;
      }
    }
  }
  EXPECT_GT(frames, 100u);
}

}  // namespace
}  // namespace link_check
