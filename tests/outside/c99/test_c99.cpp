// The ports that no simulated chip plays: strict C99, and what they hand to their stand-ins is the stream.
#include <gtest/gtest.h>

#include <sstream>

#include "../avr/bench.hpp"
#include "burstloom/common/files.hpp"

namespace c99_check {
namespace {

using avr_check::pulses;
using burstloom::BurstStream;

std::string exported(const std::string& target, const std::string& name, const BurstStream& stream) {
  const std::string folder = avr_check::fresh_folder(target + "_" + name);
  burstloom::write_folder(folder,
                          burstloom::project(avr_check::input_of(stream), burstloom::target_named(target)));
  avr_check::shell("make -s -C '" + folder + "'");
  return folder;
}

class stand_in : public testing::TestWithParam<std::pair<const char*, BurstStream>> {};

TEST_P(stand_in, of_a_chip_of_your_own_is_handed_the_stream) {
  const auto& [name, stream] = GetParam();
  std::istringstream lines(avr_check::shell("'" + exported("generic", name, stream) + "/burst_player'"));
  std::vector<burstloom::Burst> handed;
  char comma = 0;
  for (burstloom::Burst burst; lines >> burst.start >> comma >> burst.on;) {
    burst.start += stream.bursts.front().start;
    handed.push_back(burst);
  }
  EXPECT_EQ(handed, stream.bursts);
}

// RMT is started by the program, after the timer has gone on by a tick: at most a tick late, against the
// first burst.
TEST_P(stand_in, of_an_esp32_is_handed_the_stream) {
  const auto& [name, stream] = GetParam();
  constexpr std::int64_t kCyclesPerTick = 40;
  const std::string folder = exported("esp32", name, stream), file = folder + "/edges.csv";
  avr_check::shell(
      "cd '" + folder +
      "' && cc -std=c99 -O1 -Wall -Wextra -Wpedantic -Werror -DESP32_STUB -I. -Iplayer -Iport -o stub "
      "port/*.c player/*.c '" BURSTLOOM_C99_SOURCES "/esp32_stub.c' && ./stub > edges.csv");
  const auto played = pulses(avr_check::read_edges(file));
  EXPECT_EQ(avr_check::absent_bursts(played, stream, kCyclesPerTick, 0, kCyclesPerTick),
            std::vector<std::size_t>{});
  for (std::size_t i = 0; i < played.size(); ++i)
    EXPECT_EQ(played[i].fall - played[i].rise, stream.bursts[i].on * kCyclesPerTick) << "burst " << i;
}

// Without the last burst, whose gap is too short for these targets.
BurstStream long_rests() {
  BurstStream stream = avr_check::long_rests();
  stream.bursts.pop_back();
  return stream;
}
const burstloom::Target& esp32() {
  return burstloom::target_named("esp32");
}
INSTANTIATE_TEST_SUITE_P(
    plays, stand_in,
    testing::Values(std::pair{"four", avr_check::four_bursts()}, std::pair{"rests", long_rests()},
                    std::pair{"neighbours", avr_check::neighbours(esp32().shortest_on_ticks,
                                                                  esp32().shortest_gap_ticks, 3'000)},
                    std::pair{"longest", avr_check::neighbours(esp32().longest_on_ticks - 1,
                                                               esp32().shortest_gap_ticks, 20)}),
    [](const auto& named) { return named.param.first; });

}  // namespace
}  // namespace c99_check
