// Promises 4 and 5 on simulated ARM chips: exported projects, built by their own Makefile, every edge on its
// cycle. What each simulator is worth is said where it is driven (play_in_rp2040js.mjs, stm32f103.cpp) and in
// docs/reference/porting.md.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "bench.hpp"
#include "burstloom/stream/files.hpp"

namespace arm_check {
namespace {

using avr_check::pulses;
using burstloom::BurstStream;

struct Chip {
  const char* target;
  std::int64_t cycles_per_tick;
  Playback (*play)(const std::string&, const Bench&);
};
void PrintTo(const Chip& chip, std::ostream* out) {
  *out << chip.target;
}

class port : public testing::TestWithParam<Chip> {
 protected:
  static const burstloom::Target& target() { return burstloom::target_named(GetParam().target); }
  static std::int64_t clock_hz() { return target().clock_hz; }

  static std::string build(const BurstStream& stream, const burstloom::Target& as = target(),
                           const std::string& make_words = "") {
    std::string name = testing::UnitTest::GetInstance()->current_test_info()->name();
    std::replace(name.begin(), name.end(), '/', '_');
    return avr_check::build(name, burstloom::project(avr_check::input_of(stream), as), make_words);
  }
  static Bench for_stream(const BurstStream& stream) {
    Bench bench;
    bench.seconds = 0.2 + stream.seconds(stream.length);
    return bench;
  }
  static Playback play(const std::string& elf, const Bench& bench) { return GetParam().play(elf, bench); }
  static std::vector<std::size_t> absent(const Playback& run, const BurstStream& stream,
                                         std::size_t first = 0) {
    return avr_check::absent_bursts(pulses(run.gate), stream, 0, first, GetParam().cycles_per_tick);
  }

  // How many bursts are absent, the song's first ones perhaps among them: which pulse is the first is found
  // by trying.
  static std::size_t left_out(const Playback& run, const BurstStream& stream) {
    for (std::size_t first = 0; first < 50; ++first) {
      try {
        return absent(run, stream, first).size();
      } catch (const std::runtime_error&) {
      }
    }
    throw std::runtime_error("a pulse that is no burst of the stream");
  }

  // Against the linker's and the simulator's word. Sections that lie in RAM: .ram (code too, on an RP2040)
  // and .bss.
  static void expect_memory(const std::string& elf, const Playback& run, std::int64_t flash,
                            std::int64_t ram) {
    const auto section = [&](const std::string& pattern) {
      return std::stol(avr_check::shell("arm-none-eabi-size -A '" + elf + "' | awk '/^(" + pattern +
                                        ") / { n += $2 } END { print n + 0 }'"));
    };
    const auto close = [](std::int64_t estimate, std::int64_t actual) {
      std::printf("estimate %ld, actual %ld\n", static_cast<long>(estimate), static_cast<long>(actual));
      EXPECT_GE(estimate, actual);
      EXPECT_LE(estimate - actual, 2'048) << "a share for what is still to come, not more";
    };
    close(flash, section("\\.boot2|\\.flash|\\.ram"));
    close(ram, section("\\.ram|\\.bss") + run.deepest_stack);
  }

  static void expect_exact(const BurstStream& stream, const burstloom::Target& as = target()) {
    const Playback run = play(build(stream, as), for_stream(stream));
    EXPECT_EQ(run.status.songs, 1);
    EXPECT_EQ(run.status.error, 0);
    EXPECT_EQ(run.status.missed, 0u);
    EXPECT_FALSE(run.was_reset);
    EXPECT_EQ(run.status.made, stream.bursts.size());
    EXPECT_EQ(absent(run, stream), std::vector<std::size_t>{});
  }
};

TEST_P(port, plays_four_bursts) {
  expect_exact(avr_check::four_bursts());
}
TEST_P(port, plays_like_a_song) {
  expect_exact(avr_check::song_like(400, 1));
}
// The start of a bundled song, woven and exported with the program that people run.
TEST_P(port, plays_a_bundled_song) {
  const std::string folder = avr_check::fresh_folder(std::string("bundled_") + GetParam().target);
  const std::string burstloom = BURSTLOOM_PROGRAM " ", samples = BURSTLOOM_SAMPLES,
                    song = folder + "/song.burst";
  avr_check::shell(burstloom + "weave '" + samples + "/quayside-lanterns.mid' --coil '" + samples +
                   "/coils/bench-36v.toml' --out '" + song + "'");
  const auto exported = nlohmann::json::parse(
      avr_check::shell(burstloom + "export '" + song + "' --json --to project --target " + GetParam().target +
                       " --until 1 --out '" + folder + "/project'"));
  avr_check::shell("make -s -C '" + folder + "/project'");
  const BurstStream whole = burstloom::read_stream(song, {}).file.stream;
  const BurstStream part = excerpt(whole, 0, whole.tick_hz);
  ASSERT_GT(part.bursts.size(), 100u);
  Bench bench = for_stream(part);
  constexpr double kAfterRest_s =
      1.3;  // the coil's longest duty window, a second, has to pass after the reset
  bench.switches = {{0, false, true}, {kAfterRest_s, true, true}};
  bench.seconds += kAfterRest_s;
  const Playback run = play(folder + "/project/player.elf", bench);
  EXPECT_EQ(run.status.songs, 1);
  EXPECT_EQ(absent(run, part), std::vector<std::size_t>{});
  expect_memory(folder + "/project/player.elf", run, exported["fit"]["flash_used"],
                exported["fit"]["ram_used"]);
}
TEST_P(port, plays_shortest_neighbours) {
  expect_exact(avr_check::neighbours(target().shortest_on_ticks, target().shortest_gap_ticks, 500));
}
TEST_P(port, plays_longest_on_time) {
  expect_exact(avr_check::neighbours(target().longest_on_ticks - 1, target().shortest_gap_ticks, 6));
}

// The shortest neighbours carry a margin over what just works in the simulator, for what it does not know:
// waiting for flash, a compiler that spends some cycles more.
TEST_P(port, plays_shorter_neighbours_than_promised) {
  burstloom::Target bold = target();
  bold.shortest_on_ticks = 1;
  bold.shortest_gap_ticks -= bold.shortest_gap_ticks / 4;
  expect_exact(avr_check::neighbours(bold.shortest_on_ticks, bold.shortest_gap_ticks, 500), bold);
}

// The processor stands still, for up to 4, 15 or 60 us, anywhere, inside the sections with interrupts off
// too: bursts are left out then, but none comes at another moment, and none is longer or shorter.
TEST_P(port, a_processor_that_stalls_costs_bursts_and_nothing_else) {
  const BurstStream stream = avr_check::song_like(600, 3);
  const std::string elf = build(stream);
  std::uint32_t all_missed = 0;
  for (const int stall_us : {4, 15, 60}) {
    SCOPED_TRACE(stall_us);
    Bench bench = for_stream(stream);
    bench.stall_cycles = stall_us * clock_hz() / 1'000'000;
    const Playback run = play(elf, bench);
    EXPECT_EQ(run.status.songs, 1);
    EXPECT_EQ(run.status.made + run.status.missed, stream.bursts.size());
    EXPECT_EQ(left_out(run, stream), run.status.missed);
    all_missed += run.status.missed;
    std::printf("stalls of %d us: %u of %zu bursts missed\n", stall_us, run.status.missed,
                stream.bursts.size());
  }
  EXPECT_GT(all_missed, 10u) << "the fault must occur to be survived";
}

// Stop opens a millisecond after the second burst's rise: both edges of it, and the moment, in cycles.
struct Stopped {
  std::vector<avr_check::Pulse> played;
  std::int64_t opens = 0;
  avr_check::Status status;
};
Stopped stop_in_a_burst(const Chip& chip, const std::string& elf, Bench bench) {
  const std::int64_t clock_hz = chip.cycles_per_tick * burstloom::kDefaultTickHz;
  Stopped stopped;
  stopped.opens = pulses(chip.play(elf, bench).gate).at(1).rise + clock_hz / 1000;
  bench.switches.push_back({static_cast<double>(stopped.opens) / static_cast<double>(clock_hz), true, false});
  const Playback run = chip.play(elf, bench);
  stopped.played = pulses(run.gate);
  stopped.status = run.status;
  return stopped;
}
void expect_fall_within_a_microsecond(const Stopped& stopped, const Chip& chip) {
  ASSERT_EQ(stopped.played.size(), 2u);
  EXPECT_NEAR(static_cast<double>(stopped.played[1].fall), static_cast<double>(stopped.opens),
              static_cast<double>(2 * chip.cycles_per_tick));
}

TEST_P(port, stop_ends_a_burst_at_once) {
  const BurstStream stream = avr_check::neighbours(15'000, 2'000, 4);
  const Stopped stopped = stop_in_a_burst(GetParam(), build(stream), for_stream(stream));
  expect_fall_within_a_microsecond(stopped, GetParam());
  EXPECT_EQ(stopped.status.error, 16);
}

class stm32f103 : public port {};
// Its stop input is the timer's break input as well: a program that does not look at it within the burst
// changes nothing, it hears of it afterwards.
TEST_P(stm32f103, stops_without_the_program) {
  const BurstStream stream = avr_check::neighbours(15'000, 2'000, 4);
  const std::string blind =
      "EXTRA_SOURCES='" BURSTLOOM_ARM_SOURCES "/blind.c' EXTRA_FLAGS='-Wl,--wrap=chip_stop_is_open'";
  const Stopped stopped = stop_in_a_burst(GetParam(), build(stream, target(), blind), for_stream(stream));
  expect_fall_within_a_microsecond(stopped, GetParam());
}

TEST_P(port, open_arm_ends_the_song) {
  const BurstStream stream = avr_check::neighbours(20, 2'000, 400);
  Bench bench = for_stream(stream);
  bench.switches.push_back({0.1, false, true});
  const Playback run = play(build(stream), bench);
  EXPECT_EQ(run.status.error, 17);
  EXPECT_GT(run.gate.size(), 10u);
  EXPECT_LT(static_cast<double>(run.gate.back().cycle), 0.122 * static_cast<double>(clock_hz()));
}

TEST_P(port, is_silent_when_not_armed_after_an_open_arm_input_with_stop_closed) {
  const std::string elf = build(avr_check::four_bursts());
  const std::vector<std::vector<avr_check::Switches>> ways = {
      {{0, true, true}},                                             // armed from reset
      {{0, false, false}, {0.05, true, false}},                      // stop open
      {{0, false, false}, {0.05, true, false}, {0.1, true, true}}};  // stop closed after arm
  for (const auto& switches : ways) {
    const Playback run = play(elf, {.seconds = 0.2, .switches = switches});
    EXPECT_TRUE(run.gate.empty());
    EXPECT_FALSE(run.was_reset);
    EXPECT_EQ(run.status.songs, 0);
  }
}

// The watchdog resets a chip whose program hangs. (That a burst ends without the program is shown by the
// stalls.)
TEST_P(port, is_reset_when_its_program_hangs) {
  const BurstStream stream = avr_check::song_like(400, 5);
  const std::string hang =
      "EXTRA_SOURCES='" BURSTLOOM_ARM_SOURCES "/hang.c' EXTRA_FLAGS='-Wl,--wrap=hardware_make_burst'";
  const Playback run = play(build(stream, target(), hang), for_stream(stream));
  EXPECT_TRUE(run.was_reset);
  EXPECT_EQ(run.status.songs, 0);
  ASSERT_EQ(pulses(run.gate).size(), 10u);
  EXPECT_LE(run.cycles - run.gate.back().cycle, 33 * clock_hz() / 1000);
}

TEST_P(port, takes_the_memory_that_was_estimated) {
  for (const BurstStream& stream : {avr_check::four_bursts(), avr_check::song_like(400, 1)}) {
    const auto fit = burstloom::fit_of(avr_check::input_of(stream), target());
    const std::string elf = build(stream);
    expect_memory(elf, play(elf, for_stream(stream)), fit.flash_used, fit.ram_used);
  }
}

// A set's image: tables of voices and of pairs, the latter at the shortest neighbours; each song to the
// cycle, the pauses held.
TEST_P(port, plays_the_songs_of_a_set) {
  const auto songs = avr_check::set_of({avr_check::two_voices(1'150),
                                        avr_check::input_of(avr_check::neighbours(
                                            target().shortest_on_ticks, target().shortest_gap_ticks, 300)),
                                        avr_check::two_voices(1'200)},
                                       0.03);
  const auto image = burstloom::set_image(songs, target());
  EXPECT_EQ(image.directory[0].encoding, burstloom::Encoding::voices);
  EXPECT_EQ(image.directory[1].encoding, burstloom::Encoding::pairs);
  Bench bench;
  bench.songs = 3;
  bench.seconds = 0.5;
  for (const auto& song : songs) bench.seconds += song.table.stream.seconds(song.table.stream.length);
  const std::string elf = avr_check::build(std::string("set_") + GetParam().target, image.project);
  const Playback run = play(elf, bench);
  EXPECT_EQ(run.status.songs, 3);
  EXPECT_EQ(run.status.error, 0);
  EXPECT_EQ(run.status.missed, 0u);
  const auto played = avr_check::played_set(pulses(run.gate), songs, clock_hz());
  for (std::size_t i = 0; i < songs.size(); ++i) {
    EXPECT_EQ(
        avr_check::absent_bursts(played.songs[i], songs[i].table.stream, 0, 0, GetParam().cycles_per_tick),
        std::vector<std::size_t>{});
  }
  for (const double pause_s : played.pauses_s) {
    EXPECT_GE(pause_s, 0.03);
    EXPECT_LE(pause_s, 0.06);
  }
  expect_memory(elf, run, image.fit.flash_used, image.fit.ram_used);
}

const Chip kRp2040{"rp2040", 60, play_rp2040}, kStm32f103{"stm32f103", 36, play_stm32f103};
std::string name_of(const testing::TestParamInfo<Chip>& chip) {
  return chip.param.target;
}
INSTANTIATE_TEST_SUITE_P(of, port, testing::Values(kRp2040, kStm32f103), name_of);
INSTANTIATE_TEST_SUITE_P(of, stm32f103, testing::Values(kStm32f103), name_of);

}  // namespace
}  // namespace arm_check
