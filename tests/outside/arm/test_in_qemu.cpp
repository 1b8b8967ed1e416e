// The player's C on a Cortex-M0 that QEMU runs, counting instructions: the bursts that it makes are the
// stream's. Its port (qemu/board.c) makes the edges by software; QEMU's time is that of its instructions, so
// edges may be a tick late.
#include <gtest/gtest.h>

#include "../avr/bench.hpp"
#include "burstloom/common/files.hpp"

namespace arm_check {
namespace {

using burstloom::BurstStream;

const burstloom::Target& target() {
  return burstloom::target_named("stm32f103");
}

std::vector<avr_check::Pulse> play(const std::string& name,
                                   const std::vector<burstloom::FolderFile>& project) {
  const std::string folder = avr_check::fresh_folder("qemu_" + name);
  burstloom::write_folder(folder, project);
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
  return avr_check::pulses(avr_check::read_edges(edges));
}

void expect_bursts(const std::vector<avr_check::Pulse>& pulses, const BurstStream& stream) {
  EXPECT_EQ(avr_check::absent_bursts(pulses, stream, 1, 0, 1), std::vector<std::size_t>{});
}
void expect_stream(const std::string& name, const burstloom::TableInput& input) {
  expect_bursts(play(name, burstloom::project(input, target())), input.stream);
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
  ASSERT_EQ(fit_of(input, target()).encoding, burstloom::Encoding::voices);
  expect_stream("voices", input);
}
TEST(qemu, plays_the_songs_of_a_set) {
  const auto songs =
      avr_check::set_of({avr_check::input_of(avr_check::four_bursts()),
                         avr_check::input_of(avr_check::song_like(300, 5)), avr_check::two_voices(500)},
                        0.25);
  const auto pulses = play("set", burstloom::set_image(songs, target()).project);
  const auto played = avr_check::played_set(pulses, songs, burstloom::kDefaultTickHz);
  for (std::size_t i = 0; i < songs.size(); ++i) expect_bursts(played.songs[i], songs[i].table.stream);
  for (const double pause_s : played.pauses_s) {
    EXPECT_GE(pause_s, 0.25);
    EXPECT_LE(pause_s, 0.3);
  }
}

}  // namespace
}  // namespace arm_check
