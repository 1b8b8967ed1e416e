// Faults on a simulated ATmega328P: late interrupts, damaged tables, hands at the switches (promise 5).
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <stdexcept>

#include "bench.hpp"

namespace avr_check {
namespace {

using burstloom::BurstStream;

// A neighbour's interrupt blocks at random moments (blocker.c).
class late_interrupt : public testing::TestWithParam<std::pair<std::string, std::string>> {};

Playback run_blocked(const BurstStream& stream, const std::string& block_us, const std::string& spread,
                     int seed) {
  const std::string flags =
      "-DBLOCK_US=" + block_us + " -DBLOCK_SPREAD=" + spread + " -DBLOCK_SEED=" + std::to_string(seed);
  const std::string words = "EXTRA_SOURCES='" BURSTLOOM_AVR_SOURCES "/blocker.c' EXTRA_FLAGS='" + flags + "'";
  const std::string name = "blocked_" + block_us + "_" + std::to_string(seed);
  Playback run = simulate(build(name, stream, words), for_stream(stream));
  if (!run.blocked.empty() && run.blocked.back().high)
    run.blocked.pop_back();  // the simulation ended in a block
  return run;
}

std::int64_t longest_high(const std::vector<Pulse>& all) {
  std::int64_t longest = 0;
  for (const Pulse& pulse : all) longest = std::max(longest, pulse.fall - pulse.rise);
  return longest;
}

// Whether a burst that is absent had to be: its rise, at `rise`, lies in a block or within the lead after it.
// That lead is the one of port.h (80 ticks), the way in and out of two interrupts (4 us), and what each of
// the `skipped` bursts missed before it in the same block takes to be read and left out (the shortest gap
// covers that).
bool excused(std::int64_t rise, const std::vector<Pulse>& blocks, std::int64_t skipped) {
  const std::int64_t lead = (80 + skipped * atmega().shortest_gap_ticks) * kCyclesPerTick;
  constexpr std::int64_t kInterrupts = 64;
  for (const Pulse& block : blocks)
    if (rise >= block.rise - kInterrupts && rise <= block.fall + lead + kInterrupts) return true;
  return false;
}

void expect_only_covered_bursts_missed(const std::string& block_us, const std::string& spread, int seed) {
  const BurstStream stream = song_like(4'000, 7);
  const Playback run = run_blocked(stream, block_us, spread, seed);
  const auto played = pulses(run.gate), blocks = pulses(run.blocked);
  const auto profile = profile_around(stream);

  ASSERT_GE(blocks.size(), 50u) << "the fault must occur to be survived";
  EXPECT_EQ(run.status.songs, 1);
  EXPECT_EQ(run.resets, 0);
  EXPECT_LE(longest_high(played), static_cast<std::int64_t>((profile.limits.on_time_max_us + 2) * 16));
  std::size_t first = 0;  // found by trying: the song's first bursts may be among the absent
  std::vector<std::size_t> absent;
  for (;; ++first) {
    ASSERT_LT(first, 20u);
    try {
      absent = absent_bursts(played, stream, kSimavrLateness, first);
      break;
    } catch (const std::runtime_error&) {
    }
  }
  EXPECT_EQ(run.status.missed, absent.size());
  EXPECT_EQ(run.status.made, played.size());
  EXPECT_GT(absent.size(), 0u);
  const std::int64_t zero = played.front().rise - stream.bursts[first].start * kCyclesPerTick;
  std::int64_t in_a_row = 0;
  for (std::size_t k = 0; k < absent.size(); ++k) {
    in_a_row = k > 0 && absent[k] == absent[k - 1] + 1 ? in_a_row + 1 : 1;
    EXPECT_TRUE(excused(zero + stream.bursts[absent[k]].start * kCyclesPerTick, blocks, in_a_row))
        << "burst " << absent[k];
  }
  std::printf("%s us: %zu blocks, %zu of %zu bursts missed\n", block_us.c_str(), blocks.size(), absent.size(),
              stream.bursts.size());
}

TEST_P(late_interrupt, costs_only_the_bursts_it_covers) {
  for (int seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    expect_only_covered_bursts_missed(GetParam().first, GetParam().second, seed);
  }
}
INSTANTIATE_TEST_SUITE_P(of, late_interrupt,
                         testing::Values(std::pair{"100", "1"}, std::pair{"1000", "3"},
                                         std::pair{"10000", "15"}),
                         [](const auto& name) { return name.param.first + "_us"; });

// Short ones cost no burst at all: the lead has room for them.
TEST(late_interrupt, of_10_us_costs_nothing) {
  for (int seed = 1; seed <= 5; ++seed) {
    const Playback run = run_blocked(song_like(4'000, 7), "10", "0", seed);
    EXPECT_GT(run.blocked.size(), 2'000u);
    EXPECT_EQ(run.status.songs, 1);
    EXPECT_EQ(run.status.missed, 0u);
  }
}

// One that blocks for longer than the watchdog waits: reset, pin low, disarmed.
TEST(late_interrupt, of_40_ms_is_ended_by_the_watchdog) {
  const Playback run = run_blocked(song_like(4'000, 7), "40000", "63", 1);
  EXPECT_EQ(run.status.songs, 0);
  EXPECT_GT(run.resets, 0);
  EXPECT_NE(run.status.state, playing);
  EXPECT_LE(longest_high(pulses(run.gate)), (94 + 4) * kCyclesPerTick);
}

// The watchdog's own oscillator may be slow: then the counter's turn is seen to be lost, and the song ends.
TEST(late_interrupt, of_40_ms_with_a_slow_watchdog_loses_the_clock) {
  const std::string no_watchdog = " -D_AVR_WDT_H_ '-Dwdt_reset()=(void)0' '-Dwdt_enable(t)=(void)0'";
  const std::string words = "EXTRA_SOURCES='" BURSTLOOM_AVR_SOURCES
                            "/blocker.c' EXTRA_FLAGS=\"-DBLOCK_US=40000 -DBLOCK_SPREAD=63" +
                            no_watchdog + "\"";
  const BurstStream stream = song_like(4'000, 7);
  const Playback run = simulate(build("slow_watchdog", stream, words), for_stream(stream));
  EXPECT_EQ(run.status.songs, 0);
  EXPECT_EQ(run.resets, 0);
  EXPECT_EQ(run.status.error, 18);
  EXPECT_LE(longest_high(pulses(run.gate)), (94 + 4) * kCyclesPerTick);
}

// The program takes the pin low by itself right after the fall that it armed: a fall that gets lost costs no
// transistor.
TEST(lost_fall, is_made_by_the_program) {
  const BurstStream stream = song_like(500, 9);
  Options options = for_stream(stream);
  options.lose_falls = true;
  const auto played = pulses(simulate(build("lost_fall", stream), options).gate);
  ASSERT_EQ(played.size(), stream.bursts.size());
  for (std::size_t i = 0; i < played.size(); ++i) {
    const std::int64_t on = stream.bursts[i].on * kCyclesPerTick;
    EXPECT_GT(played[i].fall - played[i].rise, on) << "the fault must occur to be survived";
    EXPECT_LE(played[i].fall - played[i].rise, on + 2 * 16 + 16);
  }
}

// Bad tables: the project is exported, then its table's bytes are changed in the header.
class bad_table : public testing::Test {
 protected:
  // Byte `at` of the table becomes `value`, the compiled limits stay.
  static std::vector<burstloom::FolderFile> with_byte(std::size_t at, const std::string& value) {
    auto files = burstloom::project(input_of(four_bursts()), atmega());
    std::string& header = files.front().content;
    std::size_t place = header.find("= {\n") + 4;
    for (; at > 0; --at) place = header.find(',', place) + 1;
    header.replace(place, header.find(',', place) - place, value);
    return files;
  }
  static void expect_silent(const std::string& name, const std::vector<burstloom::FolderFile>& files,
                            int error) {
    Options options;
    options.seconds = 0.5;
    const Playback run = simulate(build(name, files), options);
    EXPECT_TRUE(run.gate.empty());
    EXPECT_EQ(run.status.state, fault);
    EXPECT_EQ(run.status.error, error);
  }
};
TEST_F(bad_table, with_wrong_crc_is_silent) {
  expect_silent("bad_crc", with_byte(33, "(77)"), 6);
}
TEST_F(bad_table, with_a_changed_burst_is_silent) {
  expect_silent("bad_burst", with_byte(38, "(77)"), 6);
}
TEST_F(bad_table, with_wrong_version_is_silent) {
  expect_silent("bad_version", with_byte(4, "9"), 2);
}
TEST_F(bad_table, with_wrong_tick_rate_is_silent) {
  expect_silent("bad_rate", with_byte(8, "1"), 3);
}
TEST_F(bad_table, that_is_cut_is_silent) {
  auto files = with_byte(36, "");
  std::string& header = files.front().content;
  header.replace(header.find(",,"), 2, ",");  // one byte less; the compiler fills up the end with zero
  expect_silent("bad_cut", files, 6);
}
TEST_F(bad_table, for_another_clock_is_not_even_built) {
  auto files = burstloom::project(input_of(four_bursts()), atmega());
  std::string& header = files.front().content;
  header.replace(header.find("TICK_HZ 2000000"), 15, "TICK_HZ 1000000");
  EXPECT_THROW((void)build("bad_clock", files), std::runtime_error);
}

// Arm and stop. The rest is 50 ms here; the song lasts some seconds.
class switches : public testing::Test {
 protected:
  static const std::string& elf() {
    static const std::string path = [] {
      auto input = input_of(song_like(2'000, 3));
      input.rest_before_repeat_s = 0.3;
      // One folder a test: they may run side by side.
      const std::string test = testing::UnitTest::GetInstance()->current_test_info()->name();
      return build("switches_" + test, burstloom::project(input, atmega()));
    }();
    return path;
  }
  static Playback run(std::vector<Switches> hand, double seconds) {
    Options options;
    options.seconds = seconds;
    options.switches = std::move(hand);
    return simulate(elf(), options);
  }
  static double s(std::int64_t cycle) { return static_cast<double>(cycle) / kClockHz; }
};
// The arm switch stays closed over the reset: nothing starts before it was opened after the rest and closed.
TEST_F(switches, brown_out_in_a_burst_is_silence_until_rest_release_and_arm) {
  Options options;
  options.seconds = 3;
  options.switches = {{0, false, true}, {0.5, true, true}, {2, false, true}, {2.1, true, true}};
  options.brown_out_in_burst = 50;
  const Playback run = simulate(elf(), options);
  const auto played = pulses(run.gate);
  ASSERT_GT(played.size(), 60u) << "it plays again";
  EXPECT_LT(played[49].fall - played[49].rise, 20 * kCyclesPerTick) << "shorter than any burst of the song";
  EXPECT_LT(s(played[49].fall), 2);
  EXPECT_GT(s(played[50].rise), 2.1);
}
TEST_F(switches, never_armed_is_silent) {
  EXPECT_TRUE(run({{0, false, true}}, 2).gate.empty());
}
TEST_F(switches, never_allowed_is_silent) {
  EXPECT_TRUE(run({{0, false, false}, {1, true, false}}, 2).gate.empty());
}
TEST_F(switches, arm_held_from_reset_is_silent_until_released_and_given) {
  EXPECT_TRUE(run({{0, true, true}}, 2).gate.empty());
  const Playback given = run({{0, true, true}, {1, false, true}, {1.5, true, true}}, 2);
  ASSERT_FALSE(given.gate.empty());
  EXPECT_GT(s(given.gate.front().cycle), 1.5);
}
TEST_F(switches, nothing_starts_before_the_rest_after_reset) {
  const Playback early = run({{0, false, true}, {0.1, true, true}}, 2);
  EXPECT_TRUE(early.gate.empty()) << "armed during the rest: has to be given again";
  EXPECT_EQ(early.status.state, release);
}
TEST_F(switches, a_bounce_of_the_arm_input_starts_nothing) {
  EXPECT_TRUE(run({{0, false, true},
                   {0.5, true, true},
                   {0.515, false, true},
                   {0.53, true, true},
                   {0.54, false, true}},
                  1)
                  .gate.empty());
}
TEST_F(switches, stop_closed_again_starts_nothing) {
  const Playback held = run({{0, false, false}, {0.5, true, false}, {0.8, true, true}}, 2);
  EXPECT_TRUE(held.gate.empty());
}
TEST_F(switches, open_stop_is_silence_from_then_on) {
  for (int k = 0; k < 40; ++k) {
    const double opened = 1.0 + k * 0.00013;  // all phases of bursts and rests
    const Playback stopped = run({{0, false, true}, {0.5, true, true}, {opened, true, false}}, 1.2);
    ASSERT_GT(stopped.gate.size(), 50u);
    EXPECT_EQ(stopped.gate.size() % 2, 0u) << "low at the end";
    EXPECT_LE(s(stopped.gate.back().cycle), opened + 2e-6);
    EXPECT_EQ(stopped.status.error, 16);
  }
}
TEST_F(switches, open_stop_cuts_a_burst_short) {
  const BurstStream stream = neighbours(15'000, 15'000, 60);  // half of the time high
  const std::string long_bursts = build("long_bursts", stream);
  int cut = 0;
  for (int k = 0; k < 20; ++k) {
    Options options;
    const double opened = 0.4 + k * 0.0017;
    options.switches = {{0, false, true}, {0.1, true, true}, {opened, true, false}};
    options.seconds = 0.6;
    const Playback stopped = simulate(long_bursts, options);
    ASSERT_FALSE(stopped.gate.empty());
    EXPECT_LE(s(pulses(stopped.gate).back().fall), opened + 3e-6);
    if (s(stopped.gate.back().cycle) > opened) ++cut;
  }
  EXPECT_GT(cut, 5) << "else no burst was under way at those moments";
}
TEST_F(switches, arm_held_from_reset_is_silent_without_any_rest) {
  Options options;
  options.switches = {{0, true, true}};
  EXPECT_TRUE(simulate(build("held", four_bursts()), options).gate.empty());
}
TEST_F(switches, after_a_stop_rest_release_and_arm_are_needed) {
  const auto last_s = [](const Playback& r) { return s(r.gate.back().cycle); };
  EXPECT_LT(last_s(run({{0, false, true}, {0.5, true, true}, {1, true, false}, {1.01, true, true}}, 3)),
            1.01);
  EXPECT_LT(last_s(run({{0, false, true}, {0.5, true, true}, {1, false, false}, {1.1, true, true}}, 3)), 1.01)
      << "armed again within the rest";
  EXPECT_GT(last_s(run({{0, false, true}, {0.5, true, true}, {1, false, false}, {1.4, true, true}}, 3)), 1.4);
}
TEST_F(switches, open_arm_ends_the_song) {
  const Playback disarmed = run({{0, false, true}, {0.5, true, true}, {1, false, true}}, 2);
  ASSERT_FALSE(disarmed.gate.empty());
  EXPECT_LT(s(disarmed.gate.back().cycle), 1.03);
  EXPECT_EQ(disarmed.status.error, 17);
}
TEST_F(switches, the_song_ends_low_and_does_not_repeat_by_itself) {
  const BurstStream stream = song_like(2'000, 3);
  const Playback whole = run({{0, false, true}, {0.5, true, true}}, 0.7 + 2 * stream.seconds(stream.length));
  EXPECT_EQ(whole.status.songs, 1);
  EXPECT_EQ(pulses(whole.gate).size(), stream.bursts.size());
  EXPECT_EQ(whole.status.state, release);
}

}  // namespace
}  // namespace avr_check
