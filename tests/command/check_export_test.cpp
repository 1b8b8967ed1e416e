// `burstloom check` and `export`: streams, captures with their oddities, chips.
#include "support.hpp"

namespace burstloom::testing {
namespace {

// Edges at 1 us, `level` first; the coil allows bursts of 4 to 40 us and gaps of 120 us.
std::string vcd(const std::string& wires, const std::string& changes) {
  return "$timescale 1 us $end\n$scope module board $end\n" + wires +
         "$upscope $end\n$enddefinitions $end\n" + changes;
}
const std::string kGate = "$var wire 1 ! gate $end\n";

class Capture : public Command {
 protected:
  nlohmann::json judged(const std::string& changes, int code, std::vector<std::string> more = {}) {
    std::vector<std::string> words = {"check", folder_.write("c.vcd", vcd(kGate, changes)), "--coil", kCoil};
    words.insert(words.end(), more.begin(), more.end());
    return json(words, code);
  }
  std::string remarks(const nlohmann::json& json) { return json["remarks"].dump(); }
};

TEST_F(Capture, OfAGoodGate) {
  const auto json = judged("#0\n0!\n#100\n1!\n#120\n0!\n#400\n1!\n#430\n0!\n#1000\n", 0);
  EXPECT_EQ(json["verdict"], "within limits");
  EXPECT_EQ(json["stream"]["bursts"], 2);
  EXPECT_EQ(json["tolerance_us"], 1.0);  // one sample
}

TEST_F(Capture, StuckHighIsOutside) {
  EXPECT_EQ(judged("#0\n1!\n#100000\n", 1)["verdict"], "outside limits");
  EXPECT_EQ(judged("#0\n0!\n#50\n1!\n#100000\n", 1)["verdict"], "outside limits");
}

TEST_F(Capture, HighAtTheStartOrTheEndCannotBeToldAndIsSaid) {
  const auto start = judged("#0\n1!\n#20\n0!\n#1000\n", 1);
  EXPECT_EQ(start["verdict"], "cannot tell");
  EXPECT_NE(remarks(start).find("high when the capture starts"), std::string::npos);
  const auto end = judged("#0\n0!\n#980\n1!\n#1000\n", 1);
  EXPECT_EQ(end["verdict"], "cannot tell");
  EXPECT_NE(remarks(end).find("high when the capture ends"), std::string::npos);
}

TEST_F(Capture, Inverted) {
  const std::string changes = "#0\n1!\n#100\n0!\n#120\n1!\n#400\n0!\n#430\n1!\n#1000\n";
  EXPECT_EQ(judged(changes, 0, {"--invert"})["stream"]["bursts"], 2);
  EXPECT_EQ(judged(changes, 1)["verdict"], "outside limits");
}

TEST_F(Capture, GlitchesAreJudgedAndSaid) {
  const auto high = judged("#0\n0!\n#100\n1!\n#120\n0!\n#300\n1!\n#301\n0!\n#1000\n", 1);
  EXPECT_EQ(high["verdict"], "outside limits");
  EXPECT_NE(remarks(high).find("1 very short pulses"), std::string::npos) << high;
  const auto low = judged("#0\n0!\n#100\n1!\n#130\n0!\n#131\n1!\n#160\n0!\n#1000\n", 1);
  EXPECT_NE(remarks(low).find("1 very short dips"), std::string::npos) << low;
  EXPECT_EQ(low["stream"]["bursts"], 1);
}

TEST_F(Capture, UnknownLevelsCountAsHigh) {
  EXPECT_EQ(judged("#0\n0!\n#100\nx!\n#200\n0!\n#1000\n", 1)["verdict"], "outside limits");
}

TEST_F(Capture, TheToleranceStandsInTheVerdict) {
  const std::string changes = "#0\n0!\n#100\n1!\n#139\n0!\n#1000\n";  // 39 of 40 us, and 60 ns of stretch
  EXPECT_EQ(judged(changes, 0, {"--tolerance-us", "0"})["tolerance_us"], 0.0);
  EXPECT_EQ(judged(changes, 1)["verdict"], "cannot tell");  // a sample is a microsecond
  expect_refusal({"check", folder_ / "c.vcd", "--coil", kCoil, "--tolerance-us", "5.5"}, 2, {"5.5"});
}

TEST_F(Capture, OneOfSeveralWires) {
  const std::string file = folder_.write("many.vcd", vcd("$var wire 1 a arm $end\n$var wire 1 b coil $end\n",
                                                         "#0\n1a\n0b\n#100\n1b\n#120\n0b\n#1000\n"));
  EXPECT_EQ(json({"check", file, "--coil", kCoil, "--wire", "coil"})["stream"]["bursts"], 1);
  EXPECT_EQ(json({"check", file, "--coil", kCoil, "--wire", "board.coil"})["stream"]["bursts"], 1);
  expect_refusal({"check", file, "--coil", kCoil}, 2, {"--wire", "arm", "coil"});
  expect_refusal({"check", file, "--coil", kCoil, "--wire", "gate"}, 2, {"gate", "arm", "coil"});
}

TEST_F(Capture, WithoutACoilIsWrongUsage) {
  expect_refusal({"check", folder_.write("c.vcd", vcd(kGate, "#0\n0!\n#10\n"))}, 2, {"--coil"});
}

// Bursts of 39.9 us of 40: as a capture they hold the clock's error already, as a command it comes on top.
TEST_F(Command, ACaptureThatIsExportedOrSentIsJudgedAsACommand) {
  const std::string capture =
      folder_.write("c.vcd",
                    "$timescale 10 ns $end\n$var wire 1 ! gate $end\n$enddefinitions $end\n"
                    "#0\n0!\n#10000\n1!\n#13990\n0!\n#100000\n1!\n#102000\n0!\n#200000\n");
  EXPECT_EQ(json({"check", capture, "--coil", kCoil})["verdict"], "within limits");
  for (const char* format : {"header", "csv", "vcd"})
    expect_refusal({"export", capture, "--coil", kCoil, "--to", format, "--out", folder_ / "x"}, 1,
                   {"1 limit exceeded: on-time, "});
  expect_refusal({"send", capture, "--coil", kCoil, "--device", "/dev/null"}, 1,
                 {"1 limit exceeded: on-time, "});
}

TEST_F(Command, AStreamOutsideIsTellingWhereAndIsNotExported) {
  const std::string csv =
      folder_.write("s.csv", "# tick_hz=2000000\nstart_us,on_us\n0,20\n1000,41.5\n2000,20\n");
  const auto json = this->json({"check", csv, "--coil", kCoil}, 1);
  EXPECT_EQ(json["verdict"], "outside limits");
  ASSERT_EQ(json["violations"].size(), 1u);
  EXPECT_EQ(json["violations"][0]["limit"], "on-time max");
  EXPECT_NEAR(json["violations"][0]["at_s"].get<double>(), 0.001, 1e-12);
  ASSERT_EQ(json["spans"].size(), 1u);
  EXPECT_EQ(json["spans"][0]["limit"], "on-time max");
  EXPECT_EQ(json["spans"][0]["unit"], "us");
  EXPECT_EQ(json["spans"][0]["count"], 1);
  EXPECT_EQ(json["spans"][0]["from_s"], json["violations"][0]["at_s"]);
  EXPECT_EQ(json["spans"][0]["until_s"], json["violations"][0]["at_s"]);
  EXPECT_EQ(json["spans"][0]["worst"], json["violations"][0]["value"]);
  for (const char* format : {"header", "project", "csv", "vcd", "wav"})
    expect_refusal({"export", csv, "--coil", kCoil, "--to", format, "--out", folder_ / "x"}, 1,
                   {"1 limit exceeded: on-time, ", " above its 40 µs maximum"});
  EXPECT_EQ(run({"check", csv, "--coil", kCoil}).code, 1);
}

TEST_F(Command, CheckRefusesWhatItCannotRead) {
  const std::string burst = content_of(woven());
  std::string damaged = burst;
  damaged[damaged.size() / 2] ^= 0x20;
  expect_refusal({"check", folder_ / "none.burst"}, 3, {"none.burst"});
  expect_refusal({"check", folder_.write("d.burst", damaged)}, 3, {"d.burst"});
  expect_refusal({"check", folder_.write("c.burst", burst.substr(0, burst.size() - 3))}, 3,
                 {"c.burst", "cut off"});
  expect_refusal(
      {"check", folder_.write("x.csv", "# tick_hz=2000000\nstart_us,on_us\n0,ten\n"), "--coil", kCoil}, 3,
      {"x.csv, line 3"});
  expect_refusal({"check", folder_.write("x.vcd", "$var wire"), "--coil", kCoil}, 3, {"x.vcd"});
  expect_refusal({"check", folder_.write("x.bin", std::string(1000, '\x7F')), "--coil", kCoil}, 3, {"x.bin"});
}

// Every format that keeps the ticks gives back the same bursts.
TEST_F(Command, ExportsAreReadBackTheSame) {
  const std::string stream = woven();
  const auto original = json({"check", stream});
  for (const char* format : {"csv", "vcd", "wav"}) {
    const std::string file = folder_ / (std::string("e.") + format);
    EXPECT_EQ(json({"export", stream, "--to", format, "--out", file, "--until", "3"})["verdict"],
              "within limits");
    const auto back = json({"check", file, "--coil", kCoil});
    EXPECT_EQ(back["verdict"], "within limits") << format;
    const std::string csv = folder_ / "direct.csv", again = folder_ / "again.csv";
    EXPECT_EQ(run({"export", stream, "--to", "csv", "--out", csv, "--until", "3"}).code, 0);
    EXPECT_EQ(run({"export", file, "--coil", kCoil, "--to", "csv", "--out", again}).code, 0);
    EXPECT_EQ(content_of(again), content_of(csv)) << format;
  }
}

TEST_F(Command, ExcerptsAreWholeBurstsFromTheirStart) {
  const std::string stream = woven();
  const auto whole = json({"export", stream, "--to", "csv", "--out", folder_ / "w.csv"});
  int bursts = 0;
  for (const auto& [from, until] : {std::pair("0", "20"), std::pair("20", "50"), std::pair("50", "78")})
    bursts += json({"export", stream, "--to", "csv", "--out", folder_ / "e.csv", "--from", from, "--until",
                    until})["stream"]["bursts"]
                  .get<int>();
  EXPECT_NEAR(bursts, whole["stream"]["bursts"].get<int>(), 2);  // at most a burst lost at each cut
  for (const auto& [from, until] :
       {std::pair("5", "5"), std::pair("6", "5"), std::pair("-1", "5"), std::pair("nan", "5")})
    expect_refusal(
        {"export", stream, "--to", "csv", "--out", folder_ / "x.csv", "--from", from, "--until", until}, 2,
        {"--from"});
}

TEST_F(Command, ATableThatDoesNotFitIsRefusedWithWhatWould) {
  const std::string stream = woven(), bare = folder_ / "bare.csv";
  ASSERT_EQ(run({"export", stream, "--to", "csv", "--out", bare}).code, 0);
  // A stream that does not say which voice plays what takes a few bytes a burst.
  for (const char* format : {"header", "project"})
    expect_refusal({"export", bare, "--coil", kCoil, "--to", format, "--out", folder_ / "t"}, 1,
                   {"bytes", "--until"});
  const auto whole = json({"export", stream, "--to", "project", "--out", folder_ / "w"});
  EXPECT_EQ(whole["fit"]["encoding"], "voices");
  EXPECT_LT(whole["fit"]["flash_used"].get<int>(), whole["fit"]["flash_of"].get<int>());
  const auto fits = json({"export", stream, "--to", "project", "--out", folder_ / "p", "--until", "5"});
  EXPECT_LT(fits["fit"]["flash_used"].get<int>(), fits["fit"]["flash_of"].get<int>());
  EXPECT_LT(fits["fit"]["ram_used"].get<int>(), fits["fit"]["ram_of"].get<int>());
  EXPECT_NE(content_of(folder_ / "p/burst_table.h").find("prediction is no permission"), std::string::npos);
}

TEST_F(Command, ATickTheChipCannotCountIsRefused) {
  const std::string stream = folder_ / "odd.burst";
  EXPECT_EQ(run({"weave", kSong, "--coil", kCoil, "--tick-hz", "3000000", "--out", stream}).code, 0);
  expect_refusal({"export", stream, "--to", "header", "--out", folder_ / "x.h", "--until", "2"}, 2, {"3"});
  // A third of a microsecond has no finite decimal.
  expect_refusal({"export", stream, "--to", "csv", "--out", folder_ / "x.csv"}, 2, {"decimal"});
}

TEST_F(Command, AFormatOrChipThatIsNotThereIsWrongUsage) {
  const std::string stream = woven();
  expect_refusal({"export", stream, "--to", "mp3", "--out", folder_ / "x"}, 2, {"mp3"});
  expect_refusal({"export", stream, "--to", "header", "--target", "z80", "--out", folder_ / "x"}, 2,
                 {"z80", "atmega328p"});
}

}  // namespace
}  // namespace burstloom::testing
