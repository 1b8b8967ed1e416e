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

struct Piece {
  const char* name;
  BurstStream stream;
};
void PrintTo(const Piece& piece, std::ostream* out) {
  *out << piece.name;
}
class stand_in : public testing::TestWithParam<Piece> {};

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

constexpr std::int64_t kEsp32CyclesPerTick = 40;

// The folder in which `stub` plays the stream.
std::string esp32_stub(const std::string& name, const BurstStream& stream) {
  const std::string folder = exported("esp32", name, stream);
  avr_check::shell(
      "cd '" + folder +
      "' && cc -std=c99 -O1 -Wall -Wextra -Wpedantic -Werror -DESP32_STUB -I. -Iplayer -Iport -o stub "
      "port/*.c player/*.c '" BURSTLOOM_C99_SOURCES "/esp32_stub.c'");
  return folder;
}
std::vector<avr_check::Pulse> run_stub(const std::string& folder, const std::string& words, int error) {
  avr_check::shell("cd '" + folder + "' && { ./stub " + words +
                   " > edges.csv; test $? = " + std::to_string(error) + "; }");
  return pulses(avr_check::read_edges(folder + "/edges.csv"));
}

// RMT is started by the program, after the timer has gone on by a tick: at most a tick late, against the
// first burst.
TEST_P(stand_in, of_an_esp32_is_handed_the_stream) {
  const auto& [name, stream] = GetParam();
  const auto played = run_stub(esp32_stub(name, stream), "", 0);
  EXPECT_EQ(avr_check::absent_bursts(played, stream, kEsp32CyclesPerTick, 0, kEsp32CyclesPerTick),
            std::vector<std::size_t>{});
  for (std::size_t i = 0; i < played.size(); ++i)
    EXPECT_EQ(played[i].fall - played[i].rise, stream.bursts[i].on * kEsp32CyclesPerTick) << "burst " << i;
}

TEST(esp32_stand_in, stops_within_a_burst) {
  const std::string folder = esp32_stub("stop", avr_check::neighbours(15'000, 2'000, 4));
  const auto whole = run_stub(folder, "", 0);
  const std::int64_t opens = whole[1].rise + 80'000;
  const auto played = run_stub(folder, std::to_string(opens), 16);
  ASSERT_EQ(played.size(), 2u);
  EXPECT_GE(played[1].fall, opens);
  EXPECT_LE(played[1].fall, opens + kEsp32CyclesPerTick);
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
    testing::Values(Piece{"four", avr_check::four_bursts()}, Piece{"rests", long_rests()},
                    Piece{"neighbours", avr_check::neighbours(esp32().shortest_on_ticks,
                                                              esp32().shortest_gap_ticks, 3'000)},
                    Piece{"longest", avr_check::neighbours(esp32().longest_on_ticks - 1,
                                                           esp32().shortest_gap_ticks, 20)}),
    [](const auto& named) { return named.param.name; });

}  // namespace
}  // namespace c99_check
