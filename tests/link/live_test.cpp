// Live sessions on the wire: bursts that become known shortly before they are due. Every edge is compared
// with where it should be from the song's zero on.
#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/pair_entry.hpp"
#include "wire.hpp"

namespace link_check {
namespace {

using burstloom::Burst;
using burstloom::Bytes;
using burstloom::LiveSender;
using burstloom::Tick;
using Ending = LiveSender::Ending;
using Phase = LiveSender::Phase;

// Gives the sender each burst so long before it is due, by what the sender knows of the player's clock.
class Playing {
 public:
  Playing(Bench& bench, std::vector<Burst> music, Tick ahead) : bench_(bench), music_(std::move(music)) {
    if (!bench.live) bench.go_live();
    bench.compose = [this, ahead](double now_s) {
      const auto now = bench_.live->player_now(now_s);
      most_pending = std::max(most_pending, bench_.live->pending());
      most_unacknowledged = std::max(most_unacknowledged, bench_.live->unacknowledged_bytes());
      if (!now) return;
      if (!zero_) find_zero();
      const Tick off = *now - (bench_.now - *zero_);
      most_off = std::max(most_off, std::abs(off));
      std::size_t known = given_;
      while (known < music_.size() && music_[known].start <= *now + ahead) ++known;
      bench_.live->append(std::span(music_).subspan(given_, known - given_));
      given_ = known;
    };
    bench.arm_when_ready();
  }

  // Until all has been given, and a little longer.
  void to_end() {
    while (given_ < music_.size() && bench_.live->phase() != Phase::over && bench_.now < kLongest)
      bench_.run_ms(1);
    bench_.run_ms(100);
  }
  void for_ms(std::int64_t ms) { bench_.run_ms(ms); }

  // What the pin did, from the song's zero on.
  [[nodiscard]] std::vector<Burst> made() const {
    auto bursts = bench_.made;
    for (Burst& burst : bursts) burst.start -= zero_.value_or(0);
    return bursts;
  }
  // Every burst made is one of the music, on its tick, whole, in order.
  void expect_only_music() const {
    std::size_t at = 0;
    for (const Burst& burst : made()) {
      while (at < music_.size() && music_[at] != burst) ++at;
      ASSERT_LT(at, music_.size()) << "no such burst: " << burst.start << " for " << burst.on;
      ++at;
    }
  }
  void expect_all() const {
    EXPECT_EQ(made(), music_);
    EXPECT_EQ(player_status.missed, 0u);
    EXPECT_EQ(player_status.refused, 0u);
    EXPECT_EQ(bench_.live->dropped().total(), 0);
    EXPECT_EQ(bench_.live->phase(), Phase::playing);
  }
  // Each burst given was made, missed, refused or dropped.
  void expect_accounts() const {
    EXPECT_EQ(static_cast<std::int64_t>(bench_.made.size() + player_status.missed + player_status.refused) +
                  bench_.live->dropped().total(),
              static_cast<std::int64_t>(given_));
  }

  std::size_t most_pending = 0, most_unacknowledged = 0;
  Tick most_off = 0;  // of the player's clock as the sender knows it

 private:
  static constexpr std::int64_t kLongest = 3'000'000 * kTicksPerMs;
  void find_zero() {
    const auto song_time = static_cast<std::int32_t>(player_song_time());
    zero_ = bench_.now - song_time;
  }

  Bench& bench_;
  std::vector<Burst> music_;
  std::size_t given_ = 0;
  std::optional<std::int64_t> zero_;
};

// Notes with silences of up to eight seconds between them, from a quarter of a second on.
std::vector<Burst> music_like(std::size_t bursts, unsigned seed) {
  auto music = song_like(bursts, seed).bursts;
  std::mt19937 dice(seed);
  Tick later = 500'000;
  for (Burst& burst : music) {
    if (dice() % 400 == 0) later += dice() % 16'000'000;
    burst.start += later;
  }
  return music;
}
constexpr Tick ms(Tick count) {
  return count * kTicksPerMs;
}

TEST(live, plays_every_burst_on_its_tick) {
  for (unsigned seed = 1; seed <= 5; ++seed) {
    Bench bench;
    Playing playing(bench, music_like(4'000, seed), ms(12));
    playing.to_end();
    playing.expect_all();
    EXPECT_EQ(bench.live->frames_sent_again(), 0);
    EXPECT_LT(playing.most_pending, 100u);
    EXPECT_LE(playing.most_unacknowledged, std::size_t{LINK_BUFFER_BYTES});
  }
}

// The least that bursts have to be known ahead: the computer's turn of 1 ms, a frame on the line, the player.
TEST(live, of_single_notes_wants_5_ms) {
  Bench bench;
  std::vector<Burst> music;
  for (Tick i = 0; i < 2'000; ++i) music.push_back({2'000'000 + i * 4'000, 40});
  Playing playing(bench, music, ms(5));
  playing.to_end();
  playing.expect_all();
}

TEST(live, plays_at_once_when_armed_and_waits_as_long_as_it_takes) {
  Bench bench;
  Playing playing(bench, {{ms(30'000), 50}}, ms(20));
  playing.for_ms(10);
  while (player_status.state != PLAYER_PLAYING && bench.now < ms(2'000)) bench.run_ms(1);
  ASSERT_EQ(player_status.state, PLAYER_PLAYING);
  bench.run_ms(29'000);
  EXPECT_EQ(player_status.state, PLAYER_PLAYING);
  EXPECT_TRUE(bench.made.empty());
  playing.to_end();
  playing.expect_all();
}

// The clocks run apart by a hundredth, answers come in lumps of 16 ms, or are kept back for up to 20 ms.
TEST(live, plays_on_the_tick_with_drift_and_jitter) {
  for (const double drift : {-0.01, -0.005, 0.005, 0.01})
    for (const bool lumps : {false, true}) {
      Bench bench;
      bench.drift = drift;
      std::mt19937 dice(5);
      std::int64_t until = 0;
      bench.kept_back = [&] {
        if (bench.now < until) return true;
        until = bench.now + (lumps ? ms(16) : ms(static_cast<Tick>(dice() % 21)));
        return false;
      };
      Playing playing(bench, music_like(6'000, 9), ms(25));
      playing.to_end();
      playing.expect_all();
      EXPECT_LE(playing.most_off, ms(10)) << drift << lumps;
    }
}

// Silences longer than the longest gap of an entry (2^30 ticks), and a session longer than the clock's turn.
TEST(live, plays_on_after_silences_longer_than_its_clock_counts) {
  const Tick turn = Tick{1} << 32;
  const std::vector<Burst> music = {{ms(500), 50},
                                    {turn / 4 + ms(2'000), 60},
                                    {turn - 100, 70},
                                    {turn + ms(20), 80},
                                    {turn + ms(5'000), 90}};
  Bench bench;
  Playing playing(bench, music, ms(20));
  playing.to_end();
  playing.expect_all();
}

// The player's clock has turned over, as the computer counts it, before it is armed.
TEST(live, plays_after_a_long_wait_for_a_hand) {
  Bench bench;
  bench.go_live();
  bench.run_ms(1'100'000);
  Playing playing(bench, music_like(500, 4), ms(12));
  playing.to_end();
  playing.expect_all();
}

TEST(live, given_far_ahead_plays_when_it_is_due) {
  const std::vector<Burst> music = {{ms(500), 50}, {ms(20'000), 60}, {ms(20'010), 60}, {ms(600'000), 70}};
  Bench bench;
  Playing playing(bench, music, ms(1'000'000));
  playing.for_ms(601'000);
  playing.expect_all();
}

TEST(live, that_comes_late_is_dropped_or_missed_and_moves_nothing) {
  auto music = music_like(3'000, 3);
  Bench bench;
  Playing playing(bench, music, ms(1));
  playing.to_end();
  playing.expect_only_music();
  playing.expect_accounts();
  EXPECT_GT(bench.live->dropped().late, 500);
  EXPECT_EQ(bench.live->phase(), Phase::playing);
}

TEST(live, with_damaged_frames_plays_nothing_but_the_music) {
  for (unsigned seed = 1; seed <= 10; ++seed) {
    Bench bench;
    bench.to_chip.noise = noise_one_in(500, seed);
    bench.to_host.noise = noise_one_in(500, seed + 100);
    Playing playing(bench, music_like(3'000, seed), ms(60));
    playing.to_end();
    playing.expect_only_music();
    playing.expect_accounts();
    EXPECT_EQ(bench.live->phase(), Phase::playing) << int{player_status.error};
    EXPECT_GT(bench.live->frames_sent_again(), 5);
    EXPECT_GT(bench.made.size(), 2'950u);
  }
}

// Three times what the line carries, for four seconds, then what it carries easily.
TEST(live, that_is_more_than_the_line_carries_is_told_and_recovers) {
  std::vector<Burst> music;
  Tick at = ms(500);
  for (int i = 0; i < 40'000; ++i, at += 220) {
    music.push_back({at, 10 + i % 2});
    at += music.back().on;
  }
  const Tick easy_from = at + ms(200);
  for (int i = 0; i < 1'000; ++i) music.push_back({easy_from + i * 4'000, 50});
  Bench bench;
  bench.buffered = true;
  bool was_full = false;
  Playing playing(bench, music, ms(20));
  const auto compose = bench.compose;
  bench.compose = [&](double now_s) {
    compose(now_s);
    was_full = was_full || bench.live->line_is_full();
    EXPECT_LE(bench.to_chip.free_at, bench.now + ms(12)) << "more is written than the line carries";
  };
  playing.to_end();
  playing.expect_only_music();
  playing.expect_accounts();
  EXPECT_TRUE(was_full);
  EXPECT_FALSE(bench.live->line_is_full());
  EXPECT_GT(bench.live->dropped().line_full, 10'000);
  EXPECT_GT(bench.made.size(), 10'000u) << "the line is used";
  EXPECT_LT(player_status.missed, 1'000u);
  EXPECT_LT(playing.most_pending, LiveSender::kMostPending);
  ASSERT_GT(bench.made.size(), 1'000u);
  const auto made = playing.made();
  EXPECT_EQ(std::vector<Burst>(made.end() - 1'000, made.end()),
            std::vector<Burst>(music.end() - 1'000, music.end()));
}

TEST(live, after_the_writer_was_blocked_plays_on_and_nothing_late) {
  Bench bench;
  std::vector<Burst> music;
  for (int i = 0; i < 2'000; ++i) music.push_back({ms(500) + i * 3'000, 50});
  Playing playing(bench, music, ms(15));
  playing.for_ms(1'500);
  for (int i = 0; i < 10; ++i) {
    bench.sender_writes = false;
    playing.for_ms(60);
    bench.sender_writes = true;
    playing.for_ms(100);
  }
  playing.to_end();
  playing.expect_only_music();
  playing.expect_accounts();
  EXPECT_EQ(bench.live->phase(), Phase::playing);
  EXPECT_GT(bench.live->dropped().late, 200);
  EXPECT_LT(player_status.missed, 50u);
  EXPECT_GT(bench.made.size(), 1'600u);
}

// A chord of three.
std::vector<Burst> chord(int bursts) {
  std::vector<Burst> music;
  for (Tick i = 0; i < bursts; ++i) music.push_back({ms(300) + i * 1'200 + i % 3 * 40, 30 + i % 3 * 20});
  return music;
}

TEST(live, cut_in_mid_chord_is_silent_within_100_ms) {
  for (int k = 0; k < 20; ++k) {
    Bench bench;
    Playing playing(bench, chord(5'000), ms(20));
    playing.for_ms(1'000 + k * 7);
    ASSERT_EQ(player_status.state, PLAYER_PLAYING);
    bench.to_chip.cut = true;
    bench.to_chip.bytes.clear();
    const std::int64_t unplugged = bench.now;
    ASSERT_GT(bench.made.back().end(), unplugged - ms(2)) << "not in mid chord";
    bench.run_ms(300);
    EXPECT_LE(bench.made.back().end(), unplugged + ms(100));
    EXPECT_EQ(player_status.error, PLAYER_LINK_LOST);
    const auto until_then = bench.made.size();
    bench.run_ms(1'000);
    EXPECT_EQ(bench.made.size(), until_then);
    EXPECT_EQ(bench.live->ending(), Ending::ended);
    EXPECT_EQ(bench.live->player_now(bench.host_s()), std::nullopt);
    playing.expect_only_music();
  }
}
TEST(live, stopped_by_the_sender_is_silent_at_once) {
  Bench bench;
  Playing playing(bench, chord(5'000), ms(20));
  playing.for_ms(1'000);
  bench.live->stop();
  const std::int64_t asked = bench.now;
  bench.run_sender();
  EXPECT_EQ(bench.live->ending(), Ending::stopped);
  EXPECT_EQ(player_status.error, PLAYER_HOST_STOPPED);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_LE(bench.made.back().end(), asked + ms(15));
}
TEST(live, disarmed_or_stopped_by_hand_ends) {
  for (const bool by_arm : {true, false}) {
    Bench bench;
    Playing playing(bench, chord(5'000), ms(20));
    playing.for_ms(1'000);
    (by_arm ? bench.arm : bench.run) = false;
    const std::int64_t opened = bench.now;
    bench.run_sender();
    EXPECT_EQ(bench.live->ending(), Ending::ended);
    EXPECT_EQ(bench.live->status().error, by_arm ? PLAYER_DISARMED : PLAYER_STOP_OPENED);
    EXPECT_LE(bench.made.back().end(), opened + ms(25));
    playing.expect_only_music();
    bench.arm = bench.run = true;
    const auto until_then = bench.made.size();
    bench.run_ms(2'000);
    EXPECT_EQ(bench.made.size(), until_then);
  }
}
TEST(live, keeps_the_rest_that_was_asked_for) {
  Bench bench;
  Playing playing(bench, chord(100), ms(20));
  playing.for_ms(1'000);
  bench.live->stop();
  bench.run_sender();
  bench.run_ms(20);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  bench.run_ms(40);
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
}

TEST(live, drops_what_the_player_would_not_make) {
  const std::vector<Burst> music = {{ms(500), 50},       {ms(501), 101}, {ms(502), 0}, {ms(503), 50},
                                    {ms(503) + 249, 50}, {ms(502), 50},  {ms(504), 50}};
  Bench bench;
  Playing playing(bench, music, ms(20));
  playing.to_end();
  EXPECT_EQ(playing.made(), (std::vector<Burst>{music[0], music[3], music[6]}));
  EXPECT_EQ(bench.live->dropped().total(), 4);
  EXPECT_EQ(bench.live->dropped().unfit, 4);
}
TEST(live, drops_what_comes_before_the_player_is_armed) {
  Bench bench;
  bench.go_live();
  bench.live->append(chord(10));
  bench.arm_when_ready();
  bench.run_ms(1'000);
  EXPECT_EQ(bench.live->dropped().not_playing, 10);
  EXPECT_TRUE(bench.made.empty());
}
TEST(live, keeps_so_many_bursts_while_nobody_asks) {
  Bench bench;
  Playing playing(bench, {}, 0);
  bench.run_ms(500);
  const auto music = chord(10'000);
  bench.live->append(music);
  EXPECT_EQ(bench.live->pending(), LiveSender::kMostPending);
  EXPECT_EQ(bench.live->dropped().late, 10'000 - static_cast<std::int64_t>(LiveSender::kMostPending));
}
// The player's limits: on-times up to 50 us, gaps from 100 us.
TEST(live, with_a_player_for_another_coil_is_refused) {
  const auto refusal = [](const burstloom::SongOffer& offer) {
    Bench bench;
    bench.live = std::make_unique<LiveSender>(offer, 2'000'000, "the wire", std::uint8_t{1}, 115'200.0);
    try {
      bench.run_ms(500);
      return std::string("none");
    } catch (const burstloom::Error& error) {
      EXPECT_EQ(error.fault(), burstloom::Fault::outside_limits);
      return error.problem() + "; " + error.what_to_do();
    }
  };
  EXPECT_EQ(refusal({100, 200, 0}), "none");
  EXPECT_NE(refusal({99, 200, 0}).find("wider"), std::string::npos);
  EXPECT_NE(refusal({100, 201, 0}).find("wider"), std::string::npos);
  EXPECT_NE(refusal({100, 199, 0}).find("gap from 100 µs (99.5 µs); raise gap_us by 0.5 µs"),
            std::string::npos);
  EXPECT_NE(refusal({102, 200, 0}).find("on-time up to 50 µs (51 µs); lower on_time_us.max by 1 µs"),
            std::string::npos);
}

// Without a sender: frames by hand.
class live_wire : public testing::Test {
 protected:
  static constexpr std::uint8_t kSession = 7;
  void write(const Bytes& body) { bench.to_chip.write(bench.now, burstloom::frame_of(body)); }
  void bursts(const Bytes& entries) {
    Bytes body = {LINK_BURSTS, kSession, static_cast<std::uint8_t>(number_),
                  static_cast<std::uint8_t>(number_ >> 8)};
    ++number_;
    body.insert(body.end(), entries.begin(), entries.end());
    write(body);
  }
  void alive_for(std::int64_t ms_) {
    for (std::int64_t i = 0; i < ms_ && player_status.state == PLAYER_PLAYING; i += 20) {
      write({LINK_ALIVE, kSession, static_cast<std::uint8_t>(number_),
             static_cast<std::uint8_t>(number_ >> 8)});
      bench.run_ms(20);
    }
  }
  void begin() {
    ASSERT_TRUE(bench.until(PLAYER_READY));
    bench.to_chip.write(bench.now, Bytes{0});
    for (int i = 0; i < 3; ++i) {
      write(begin_of(LINK_LIVE));
      bench.arm = true;
      bench.run_ms(20);
    }
    ASSERT_EQ(player_status.state, PLAYER_PLAYING);
    const auto song_time = static_cast<std::int32_t>(player_song_time());
    zero = bench.now - song_time;
  }
  [[nodiscard]] std::vector<Burst> made() const {
    auto all = bench.made;
    for (Burst& burst : all) burst.start -= zero;
    return all;
  }

  Bench bench;
  std::int64_t zero = 0;
  Burst told_;

 private:
  std::uint16_t number_ = 0;
};

Bytes entries_of(const std::vector<Burst>& list, Burst before = {}) {
  Bytes bytes;
  for (const Burst& burst : list) {
    burstloom::append_pair_entry(bytes, burst, before);
    before = burst;
  }
  return bytes;
}

TEST_F(live_wire, bursts_whose_rise_has_passed_are_missed_and_the_timeline_stays) {
  begin();
  alive_for(100);
  bursts(entries_of({{ms(1), 50}, {ms(2), 60}, {ms(200), 70}, {ms(201), 70}}));
  alive_for(200);
  EXPECT_EQ(made(), (std::vector<Burst>{{ms(200), 70}, {ms(201), 70}}));
  EXPECT_EQ(player_status.missed, 2u);
}
// It must not count with the guard: what follows closely is made.
TEST_F(live_wire, a_burst_that_was_missed_keeps_no_other_back) {
  begin();
  int only_second = 0;
  for (Tick i = 0; i < 60; ++i) {
    const auto before = bench.made.size();
    const std::uint32_t missed = player_status.missed;
    const Tick arrives = bench.now - zero + 15 * kTicksPerByte;  // about
    const Tick first = arrives - 600 + i * 20;
    bursts(entries_of({{first, 100}, {first + 160, 50}}, told_));
    told_ = {first + 160, 50};
    alive_for(20);
    if (player_status.missed == missed + 1 && bench.made.size() == before + 1 && bench.made.back().on == 50)
      ++only_second;
  }
  EXPECT_GT(only_second, 2);
}
TEST_F(live_wire, bursts_too_close_are_refused_and_the_timeline_stays) {
  begin();
  bursts(entries_of({{ms(200), 50}, {ms(200) + 60, 50}, {ms(200) + 249, 50}, {ms(200) + 310, 50}}));
  alive_for(300);
  EXPECT_EQ(made(), (std::vector<Burst>{{ms(200), 50}, {ms(200) + 310, 50}}));
  EXPECT_EQ(player_status.refused + player_status.missed, 2u) << "one of them is seen when it has passed";
  EXPECT_GE(player_status.refused, 1u);
}
TEST_F(live_wire, rests_make_nothing_and_move_time_on) {
  begin();
  bursts(entries_of({{ms(150), 0}, {ms(180), 0}, {ms(200), 50}, {ms(200) + 50, 0}, {ms(201), 50}}));
  alive_for(300);
  EXPECT_EQ(made(), (std::vector<Burst>{{ms(200), 50}, {ms(201), 50}}));
}
TEST_F(live_wire, a_player_that_is_told_nothing_gives_up) {
  begin();
  alive_for(1'500);
  EXPECT_EQ(player_status.state, PLAYER_PLAYING);
  alive_for(800);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_EQ(player_status.error, PLAYER_STARVED);
}
TEST_F(live_wire, a_timeline_that_falls_behind_for_good_ends_the_song) {
  begin();
  for (int i = 0; i < 2'000 && player_status.state == PLAYER_PLAYING; ++i) {
    bursts(Bytes(16, 1));  // on for 1, at once, again and again
    bench.run_ms(2);
  }
  EXPECT_EQ(player_status.error, PLAYER_STARVED);
  expect_within_limits(bench.made);
}
// All that lies more than two seconds ahead waits there; however much of it comes, time does not turn over.
TEST_F(live_wire, a_timeline_that_runs_away_makes_nothing_early) {
  begin();
  Bytes rests;
  for (int i = 0; i < 12; ++i) burstloom::append_pair_entry(rests, {(Tick{1} << 30) - 1, 0}, {});
  bursts(rests);
  bursts({1, 50});
  alive_for(10'000);
  EXPECT_EQ(player_status.state, PLAYER_PLAYING);
  EXPECT_TRUE(bench.made.empty());
}
TEST_F(live_wire, an_end_is_an_end) {
  begin();
  bursts(entries_of({{ms(200), 50}}));
  bursts({});
  alive_for(500);
  EXPECT_EQ(player_status.state, PLAYER_RESTING);
  EXPECT_EQ(player_status.songs, 1);
  EXPECT_EQ(bench.made.size(), 1u);
}
TEST_F(live_wire, an_unknown_encoding_is_refused) {
  ASSERT_TRUE(bench.until(PLAYER_READY));
  bench.to_chip.write(bench.now, Bytes{0});
  for (int i = 0; i < 3; ++i) {
    write(begin_of(2));
    bench.arm = true;
    bench.run_ms(20);
  }
  EXPECT_EQ(player_status.state, PLAYER_RELEASE);
  EXPECT_EQ(player_status.error, TABLE_WRONG_LIMITS);
}

}  // namespace
}  // namespace link_check
