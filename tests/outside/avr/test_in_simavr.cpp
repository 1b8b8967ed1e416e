// Promise 4 (the pin plays the stream) and promise 5 (a bad table is silent) on a simulated ATmega328P. The
// projects are exported by the library, compiled with their own Makefile by avr-gcc, and played by simavr.
// The timing of the chip's output compare is simavr's word; what the data sheet says beyond that is in
// ports/atmega328p/hardware.c.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <stdexcept>

#include "bench.hpp"
#include "burstloom/stream/files.hpp"

namespace avr_check {
namespace {

using burstloom::BurstStream;

void expect_exact(const std::string& name, const BurstStream& stream) {
  const Playback run = simulate(build(name, stream), for_stream(stream));
  EXPECT_EQ(run.status.songs, 1);
  EXPECT_EQ(run.status.error, 0);
  EXPECT_EQ(run.status.missed, 0u);
  EXPECT_EQ(run.status.refused, 0u);
  EXPECT_EQ(run.status.made, stream.bursts.size());
  EXPECT_EQ(run.resets, 0);
  EXPECT_EQ(absent_bursts(pulses(run.gate), stream, kSimavrLateness), std::vector<std::size_t>{});
}

TEST(plays, four_bursts) {
  expect_exact("four", four_bursts());
}
TEST(plays, like_a_song) {
  expect_exact("song", song_like(4'000, 1));
}
// The counter's turn falls into bursts and gaps, at another place each time.
TEST(plays, across_the_turn) {
  expect_exact("turn", neighbours(601, 401, 4'000));
}
TEST(plays, long_rests) {
  expect_exact("rests", long_rests());
}
TEST(plays, shortest_neighbours) {
  expect_exact("neighbours", neighbours(atmega().shortest_on_ticks, atmega().shortest_gap_ticks, 3'000));
}
TEST(plays, longest_on_time) {
  expect_exact("longest", neighbours(atmega().longest_on_ticks - 1, atmega().shortest_gap_ticks, 30));
}

// The same capture as a user has it from a logic analyser: as VCD, read by the stream room.
TEST(plays, what_a_vcd_shows) {
  const BurstStream stream = song_like(1'000, 11);
  const Playback run = simulate(build("vcd", stream), for_stream(stream));
  const auto capture = burstloom::from_vcd(to_vcd(run), "capture.vcd", {});
  ASSERT_EQ(capture.stream.bursts.size(), stream.bursts.size());
  EXPECT_FALSE(capture.starts_high || capture.ends_high);
  EXPECT_EQ(capture.short_highs + capture.short_lows, 0);
  const auto ticks = [&](burstloom::Tick t) {
    return burstloom::nearest_tick(capture.stream.seconds(t), stream.tick_hz);
  };
  const burstloom::Tick first = capture.stream.bursts.front().start;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const auto& shown = capture.stream.bursts[i];
    EXPECT_EQ(ticks(shown.start - first), stream.bursts[i].start - stream.bursts.front().start)
        << "burst " << i;
    EXPECT_EQ(ticks(shown.on), stream.bursts[i].on) << "burst " << i;
  }
}

// The header by itself serves other chips too: it compiles on a PC, as C99 and as C++, without a warning.
TEST(header, compiles_on_a_pc) {
  const std::string folder = fresh_folder("header_on_pc");
  burstloom::write_folder(folder,
                          {{"burst_table.h", burstloom::table_header(input_of(four_bursts()), atmega())},
                           {"count.c",
                            "#include <stdio.h>\n#include \"burst_table.h\"\nint main(void) {\n"
                            "  printf(\"%d %d\", (int)sizeof burst_table, (int)BURST_TABLE_BYTE(0));\n"
                            "  return 0;\n}\n"}});
  const std::string in = "cd '" + folder + "' && ", strict = " -Wall -Wextra -Wpedantic -Werror ";
  EXPECT_EQ(shell(in + "cc -std=c99" + strict + "count.c -o count && ./count"), "47 66");
  EXPECT_EQ(shell(in + "c++ -std=c++20 -x c++" + strict + "count.c -o count && ./count"), "47 66");
}

// Target's shortest neighbours carry a margin over what just works, so that a compiler that spends some
// cycles more does no harm: a tenth of the gap, a tick of the on-time. (Measured when written: 88 ticks of
// gap, 2 of on-time.)
TEST(plays, shorter_neighbours_than_promised) {
  burstloom::Target bold = atmega();
  bold.shortest_on_ticks -= 1;
  bold.shortest_gap_ticks -= bold.shortest_gap_ticks / 10;
  const BurstStream stream = neighbours(bold.shortest_on_ticks, bold.shortest_gap_ticks, 500);
  const Playback run =
      simulate(build("bold", burstloom::project(input_of(stream), bold)), for_stream(stream));
  EXPECT_EQ(run.status.missed, 0u);
  EXPECT_EQ(absent_bursts(pulses(run.gate), stream, kSimavrLateness), std::vector<std::size_t>{});
}

// The estimate of flash and RAM, against the linker's and the simulator's word.
TEST(size, is_estimated_within_5_percent_and_never_low) {
  for (const BurstStream& stream : {four_bursts(), song_like(4'000, 1), song_like(9'000, 2)}) {
    const auto fit = burstloom::fit_of(input_of(stream), atmega());
    const std::string elf = build("size", stream);
    const std::string sizes = shell("avr-size '" + elf + "' | tail -1");
    long text = 0, data = 0, bss = 0;
    ASSERT_EQ(std::sscanf(sizes.c_str(), "%ld %ld %ld", &text, &data, &bss), 3) << sizes;
    const Playback run = simulate(elf, for_stream(stream));
    const auto close = [](std::int64_t estimate, std::int64_t actual) {
      EXPECT_GE(estimate, actual);
      EXPECT_LE(estimate - actual, std::max<std::int64_t>(256, actual / 20));
      std::printf("estimate %ld, actual %ld\n", static_cast<long>(estimate), static_cast<long>(actual));
    };
    close(fit.flash_used, text + data);
    close(fit.ram_used, data + bss + run.deepest_stack);
  }
}

}  // namespace
}  // namespace avr_check
