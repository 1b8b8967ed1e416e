// The player's C on a Cortex-M0 that QEMU runs, counting instructions: the bursts that it makes are the
// stream's. Its port (qemu/board.c) makes the edges by software; QEMU's time is that of its instructions, so
// edges may be a tick late.
#include <gtest/gtest.h>

#include "../avr/bench.hpp"
#include "burstloom/common/files.hpp"

namespace arm_check {
namespace {

using burstloom::BurstStream;

void expect_stream(const std::string& name, const burstloom::TableInput& input) {
  const BurstStream& stream = input.stream;
  const std::string folder = avr_check::fresh_folder("qemu_" + name);
  burstloom::write_folder(folder, burstloom::project(input, burstloom::target_named("stm32f103")));
  const std::string board = BURSTLOOM_ARM_SOURCES "/qemu";
  avr_check::shell(
      "cd '" + folder +
      "' && arm-none-eabi-gcc -mcpu=cortex-m0 -mthumb -std=c99 -O2 -Wall -Wextra -Wpedantic -Werror "
      "-ffreestanding -fno-tree-loop-distribute-patterns -I. -Iplayer '-I" +
      board + "' -o player.elf port/startup.c player/*.c '" + board + "/board.c' -nostdlib -T '" + board +
      "/board.ld' -lgcc");
  const std::string edges = folder + "/edges.csv";
  avr_check::shell(
      "timeout 60 qemu-system-arm -M microbit -nographic -monitor none -serial null -icount "
      "shift=4,sleep=off -semihosting-config enable=on,target=native -kernel '" +
      folder + "/player.elf' > '" + edges + "'");
  EXPECT_EQ(avr_check::absent_bursts(avr_check::pulses(avr_check::read_edges(edges)), stream, 1, 0, 1),
            std::vector<std::size_t>{});
}

TEST(qemu, plays_four_bursts) {
  expect_stream("four", avr_check::input_of(avr_check::four_bursts()));
}
TEST(qemu, plays_like_a_song) {
  expect_stream("song", avr_check::input_of(avr_check::song_like(1'000, 13)));
}
TEST(qemu, plays_long_rests) {
  expect_stream("rests", avr_check::input_of(avr_check::long_rests()));
}
TEST(qemu, plays_a_table_of_voices) {
  const burstloom::TableInput input = avr_check::two_voices(1'150);
  ASSERT_EQ(fit_of(input, burstloom::target_named("stm32f103")).encoding, burstloom::Encoding::voices);
  expect_stream("voices", input);
}

}  // namespace
}  // namespace arm_check
