// Sending, as far as it goes without a player: tests/outside/avr/test_send.cpp has one.
#include <fcntl.h>
#include <stdlib.h>

#include "support.hpp"

namespace burstloom::testing {
namespace {

TEST_F(Command, SendSaysWhatIsWrongWithADevice) {
  const std::string song = woven();
  expect_refusal({"send", song, "--device", "/dev/burstloom-none"}, 2,
                 {"no such device", "/dev/burstloom-none"});
  expect_refusal({"send", song, "--device", "/dev/null"}, 2, {"no serial line", "/dev/null"});
}

TEST_F(Command, SendWaitsForAPlayerAndSaysThatThereIsNone) {
  const std::string song = woven();
  const int master = ::posix_openpt(O_RDWR | O_NOCTTY);
  ASSERT_EQ(::grantpt(master) + ::unlockpt(master), 0);
  const Ran ran = run({"send", song, "--device", ::ptsname(master)});
  ::close(master);
  EXPECT_EQ(ran.code, 4);
  const std::size_t ending = ran.err.find("no player answered");
  EXPECT_NE(ending, std::string::npos) << ran.err;
  // By whose limits, before anything is sent.
  EXPECT_LT(
      ran.err.find("judged by the limits of \"Tern, table-top\" from the stream file: on-time at most 40 µs"),
      ending)
      << ran.err;
  EXPECT_LT(ran.err.find("not judged: switch voltage"), ending) << ran.err;
}

TEST_F(Command, SendRefusesALineThatIsTooSlow) {
  const std::string song = woven();
  expect_refusal({"send", song, "--device", "/dev/null", "--baud", "9600"}, 2,
                 {"the line has 9600", "250000"});
}

TEST_F(Command, SendRefusesAStartPastTheEnd) {
  const std::string song = woven();
  expect_refusal({"send", song, "--device", "/dev/null", "--from", "100000"}, 2, {"--from"});
  expect_refusal({"send", song, "--device", "/dev/null", "--from", "-1"}, 2, {"--from"});
}

TEST_F(Command, SendRefusesAStreamOutsideItsLimits) {
  const std::string bad = folder_.write("bad.csv", "# tick_hz=2000000\nstart_us,on_us\n0,30\n80,30\n");
  expect_refusal({"send", bad, "--coil", kCoil, "--device", "/dev/null"}, 1, {"gap"});
}

TEST_F(Command, ExportsAPlayerForACoil) {
  const auto answer = json({"export", "--to", "player", "--coil", kCoil, "--rest", "2", "--baud", "250000",
                            "--out", folder_ / "p"});
  EXPECT_EQ(answer["baud"], 250'000);
  const std::string header = content_of(folder_ / "p/burst_table.h");
  EXPECT_NE(header.find("BURST_LINK_BAUD 250000UL"), std::string::npos);
  const auto on_max = std::to_string(answer["on_max_ticks"].get<int>());
  EXPECT_NE(header.find("BURST_TABLE_ON_MAX_TICKS " + on_max + "UL"), std::string::npos);
  EXPECT_NE(content_of(folder_ / "p/README.md").find("pull-down"), std::string::npos);
}

TEST_F(Command, ExportOfAPlayerSaysWhatItNeeds) {
  const std::string out = folder_ / "p", song = woven();
  expect_refusal({"export", "--to", "player", "--out", out}, 2, {"--coil"});
  expect_refusal({"export", song, "--to", "player", "--coil", kCoil, "--out", out}, 2, {"no stream"});
  expect_refusal({"export", "--to", "header", "--out", out}, 2, {"no stream"});
  expect_refusal({"export", song, "--to", "header", "--baud", "9600", "--out", out}, 2, {"--to player"});
  expect_refusal({"export", "--to", "player", "--coil", kCoil, "--baud", "5", "--out", out}, 2, {"baud"});
  expect_refusal({"export", "--to", "player", "--coil", kCoil, "--rest", "-1", "--out", out}, 2, {"rest"});
}

}  // namespace
}  // namespace burstloom::testing
