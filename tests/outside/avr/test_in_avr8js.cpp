// Promise 4 by a second simulator: every edge within one cycle of the stream. Where avr8js departs from the
// chip the player does not lean on it: SLEEP does nothing (the script stands in for it), and writing one flag
// of TIFR1 clears them all.
#include <gtest/gtest.h>

#include "bench.hpp"

namespace avr_check {
namespace {

void expect_exact(const std::string& name, const burstloom::BurstStream& stream) {
  const std::string elf = build(name, stream);
  const std::string hex = elf.substr(0, elf.size() - 3) + "hex", csv = elf.substr(0, elf.size() - 3) + "csv";
  shell("cd '" BURSTLOOM_AVR_NODE "' && '" BURSTLOOM_NODE "' '" BURSTLOOM_AVR_SOURCES
        "/play_in_avr8js.mjs' '" +
        hex + "' '" + csv + "' " + std::to_string(stream.seconds(stream.length) + 0.4));
  EXPECT_EQ(absent_bursts(pulses(read_edges(csv)), stream, 1), std::vector<std::size_t>{});
}

TEST(plays_in_avr8js, four_bursts) {
  expect_exact("js_four", four_bursts());
}
TEST(plays_in_avr8js, like_a_song) {
  expect_exact("js_song", song_like(800, 5));
}
TEST(plays_in_avr8js, long_rests) {
  expect_exact("js_rests", long_rests());
}
TEST(plays_in_avr8js, shortest_neighbours) {
  expect_exact("js_neighbours", neighbours(atmega().shortest_on_ticks, atmega().shortest_gap_ticks, 1'000));
}

}  // namespace
}  // namespace avr_check
