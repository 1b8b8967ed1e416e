// Live sessions with a simulated ATmega328P: bursts reach it shortly before they are due.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "burstloom/link/live_sender.hpp"
#include "link_peer.hpp"

namespace avr_check {
namespace {

using burstloom::Burst;
using burstloom::BurstStream;
using burstloom::LiveSender;
using burstloom::Tick;

constexpr double kTickHz = 2'000'000;
constexpr Tick kMs = 2'000;

// Gives each burst so many milliseconds before it is due, on a clock of its own, over a line whose answers
// come in lumps; ends the session when all is played.
class LivePeer : public SessionPeer {
 public:
  LivePeer(BurstStream stream, Tick ahead_ms, double baud = 115'200, Tick on_max = 100)
      : sender({on_max, 200, 0}, 2'000'000, "the wire", 1, baud),
        music(std::move(stream)),
        ahead_(ahead_ms * kMs) {}

  std::vector<std::uint8_t> talk(double now_s, const std::vector<std::uint8_t>& heard,
                                 bool line_is_free) override {
    kept_back_.insert(kept_back_.end(), heard.begin(), heard.end());
    std::vector<std::uint8_t> arrives;
    if (now_s >= lump_until_s_) {
      arrives.swap(kept_back_);
      lump_until_s_ = now_s + lumps_s;
    }
    return SessionPeer::talk(now_s * (1 + drift), arrives, line_is_free);
  }

  LiveSender sender;
  BurstStream music;
  double drift = 0, lumps_s = 0;
  std::size_t given = 0;
  Tick zero_by_clock = 0;  ///< of the song, in ticks of the simulation, as the sender knew it in the end

 protected:
  burstloom::LinkSession& session() override { return sender; }
  [[nodiscard]] bool is_over() const override { return sender.phase() == LiveSender::Phase::over; }
  void compose(double now_s) override {
    const auto now = sender.player_now(now_s);
    if (!now) return;
    zero_by_clock = static_cast<Tick>(now_s / (1 + drift) * kTickHz) - *now;
    std::size_t known = given;
    while (known < music.bursts.size() && music.bursts[known].start <= *now + ahead_) ++known;
    sender.append(std::span(music.bursts).subspan(given, known - given));
    given = known;
    if (given == music.bursts.size() && *now > music.length + 100 * kMs) sender.stop();
  }

 private:
  Tick ahead_;
  std::vector<std::uint8_t> kept_back_;
  double lump_until_s_ = 0;
};

// Bursts of all lengths up to 47 us, some `per_second` of them while they sound, with silences of up to four
// seconds, from half a second on.
BurstStream live_music(double seconds, int per_second, unsigned seed) {
  std::mt19937 dice(seed);
  BurstStream stream;
  const auto period = static_cast<Tick>(kTickHz / per_second);
  for (Tick at = 1'000'000; stream.seconds(at) < seconds;) {
    const Tick on = 10 + static_cast<Tick>(dice() % 85);
    stream.bursts.push_back({at, on});
    at += on + 200 + static_cast<Tick>(dice() % static_cast<unsigned>(2 * (period - 250)));
    if (dice() % static_cast<unsigned>(per_second) == 0) at += static_cast<Tick>(dice() % 8'000'000);
  }
  stream.length = stream.bursts.back().end();
  return stream;
}

// Every pulse is a burst of the music on its tick, from the song's zero that the sender knows on; how many of
// them were not made.
std::size_t expect_only_music(const Playback& run, const LivePeer& peer) {
  const auto made = pulses(run.gate);
  EXPECT_FALSE(made.empty());
  EXPECT_EQ(run.resets, 0);
  EXPECT_EQ(run.overruns, 0);
  if (made.empty()) return peer.music.bursts.size();
  const Tick first = made.front().rise / kCyclesPerTick - peer.zero_by_clock;
  const auto& music = peer.music.bursts;
  const auto near = [&](const Burst& burst) { return std::abs(burst.start - first); };
  const auto is_first = std::min_element(music.begin(), music.end(),
                                         [&](const Burst& a, const Burst& b) { return near(a) < near(b); });
  EXPECT_LE(near(*is_first), 5 * kMs);
  return absent_bursts(made, peer.music, kSimavrLateness, static_cast<std::size_t>(is_first - music.begin()))
      .size();
}

void expect_all_played(const Playback& run, const LivePeer& peer) {
  EXPECT_EQ(expect_only_music(run, peer), 0u);
  EXPECT_EQ(run.status.error, 21) << "ended by the sender's stop";
  EXPECT_EQ(run.status.missed, 0u);
  EXPECT_EQ(run.status.refused, 0u);
  EXPECT_EQ(peer.sender.dropped().total(), 0);
  EXPECT_EQ(peer.sender.frames_sent_again(), 0);
  std::printf("%zu bursts in %.0f s, deepest stack %d bytes\n", peer.music.bursts.size(),
              peer.music.seconds(peer.music.length), run.deepest_stack);
}

TEST(live, plays_every_burst_on_its_tick) {
  LivePeer peer(live_music(30, 300, 1), 8);
  expect_all_played(play(build_link_player("live_music"), peer), peer);
}
TEST(live, plays_on_the_tick_with_drift_and_jitter) {
  const std::string elf = build_link_player("live_drift");
  for (const double drift : {-0.01, 0.005}) {
    LivePeer peer(live_music(20, 300, 2), 25);
    peer.drift = drift;
    peer.lumps_s = 0.016;
    expect_all_played(play(elf, peer), peer);
  }
}
TEST(live, plays_the_densest_music_that_the_lines_carry) {
  LivePeer at_usual(live_music(8, 2'500, 3), 15);
  expect_all_played(play(build_link_player("live_dense"), at_usual), at_usual);
  LivePeer at_fast(live_music(8, 2'500, 4), 15, 250'000);
  expect_all_played(play(build_link_player("live_dense_fast", 250'000), at_fast, 250'000), at_fast);
}
TEST(live, that_is_more_than_the_line_carries_plays_what_arrives) {
  LivePeer peer(live_music(6, 3'500, 5), 20);
  const Playback run = play(build_link_player("live_flood"), peer);
  const std::size_t absent = expect_only_music(run, peer);
  EXPECT_EQ(static_cast<std::int64_t>(absent),
            peer.sender.dropped().total() + run.status.missed + run.status.refused);
  EXPECT_GT(peer.sender.dropped().line_full, 100);
  EXPECT_GT(run.status.made, peer.music.bursts.size() / 2);
}
TEST(live, with_damaged_bytes_plays_nothing_but_the_music) {
  LivePeer peer(live_music(10, 300, 6), 60);
  peer.damage_one_in = 300;
  const Playback run = play(build_link_player("live_damaged"), peer);
  const std::size_t absent = expect_only_music(run, peer);
  EXPECT_GT(peer.sender.frames_sent_again(), 10);
  EXPECT_EQ(static_cast<std::int64_t>(absent),
            peer.sender.dropped().total() + run.status.missed + run.status.refused);
  EXPECT_LT(absent, peer.music.bursts.size() / 50);
}
TEST(live, cut_in_mid_chord_is_silent_within_100_ms) {
  const std::string elf = build_link_player("live_lost");
  BurstStream chord;
  for (Tick i = 0; i < 20'000; ++i)
    chord.bursts.push_back({200 * kMs + i * 1'200 + i % 3 * 40, 30 + i % 3 * 20});
  chord.length = chord.bursts.back().end();
  for (int k = 0; k < 5; ++k) {
    LivePeer peer(chord, 20);
    peer.dies_at_s = 1.5 + k * 0.0137;
    const Playback run = play(elf, peer);
    EXPECT_EQ(run.status.error, 19);
    EXPECT_GE(last_fall_s(run), peer.dies_at_s - 0.002) << "not in mid chord";
    EXPECT_LE(last_fall_s(run), peer.dies_at_s + 0.1);
  }
}
TEST(live, stopped_or_disarmed_is_silent_within_100_ms) {
  const std::string elf = build_link_player("live_stopped");
  LivePeer stopping(live_music(10, 1'000, 7), 20);
  stopping.stops_at_s = 1.7;
  const Playback stopped = play(elf, stopping);
  EXPECT_EQ(stopped.status.error, 21);
  EXPECT_LE(last_fall_s(stopped), stopping.stops_at_s + 0.1);
  LivePeer disarming(live_music(10, 1'000, 7), 20);
  const Playback disarmed = play(elf, disarming, 115'200, {{1.7, false, true}});
  EXPECT_EQ(disarmed.status.error, 17);
  EXPECT_LE(last_fall_s(disarmed), 1.7 + 0.1);
}
TEST(live, never_armed_is_silent) {
  LivePeer peer(live_music(1, 300, 8), 20);
  peer.dies_at_s = 3;
  EXPECT_TRUE(play(build_link_player("live_unarmed"), peer, 115'200, {{0.6, false, true}}).gate.empty());
}

}  // namespace
}  // namespace avr_check
