// Names of files that would act on a terminal are printed harmless; others as they are.
#include <filesystem>

#include "support.hpp"

namespace burstloom::testing {
namespace {

class FileNames : public Command {
 protected:
  /// What the commands that write files print, each file named `stem` and an ending.
  std::vector<Ran> runs_that_write(const std::string& stem) {
    const std::string coil = folder_ / (stem + ".toml"), bench = folder_ / (stem + "-bench.burst"),
                      stream = folder_ / (stem + ".burst");
    return {run({"coil", "new", "--out", coil}),
            run({"coil", "steps", kCoil, "--out", bench}),
            run({"song", kSong, "--suggest", folder_ / (stem + "-song.toml")}),
            run({"weave", kSong, "--coil", kCoil, "--out", stream}),
            run({"weave", kSong, "--coil", kCoil, "--live", "--out", folder_ / (stem + "-live.burst")}),
            run({"check", stream}),
            run({"export", stream, "--to", "csv", "--out", folder_ / (stem + ".csv")}),
            run({"export", bench, bench, "--to", "project", "--target", "rp2040", "--out",
                 folder_ / (stem + "-set")}),
            run({"export", "--coil", kCoil, "--to", "player", "--target", "atmega328p", "--out",
                 folder_ / (stem + "-player")}),
            run({"preview", bench, "--out", folder_ / (stem + ".html")}),
            run({"coil", "fit", coil, "--points", coil}),
            run({"check", folder_ / (stem + ".none")}),
            run({"check", stream, "--" + stem})};
  }
};

TEST_F(FileNames, ThatWouldActOnATerminalAreHarmless) {
  const std::string stem = "red\x1b[31m\nline\x7f\xc2\x9b", harmless = "red?[31m?line??";
  for (const Ran& ran : runs_that_write(stem)) {
    const std::string said = ran.out + ran.err;
    EXPECT_EQ(said.find('\x1b'), std::string::npos) << said;
    EXPECT_EQ(said.find(stem.substr(stem.find('\n'))), std::string::npos) << said;
    EXPECT_EQ(said.find('\x7f'), std::string::npos) << said;
    EXPECT_EQ(said.find("written: ") != std::string::npos,
              said.find(harmless) != std::string::npos && ran.code == 0)
        << said;
  }
  EXPECT_TRUE(std::filesystem::exists(folder_ / (stem + ".csv")));
}

TEST_F(FileNames, InUtf8AreWhole) {
  const std::string stem = "Fähre \u6d6a " + std::string(150, 'x'), path = folder_ / (stem + ".toml");
  EXPECT_EQ(run({"coil", "new", "--out", path}).out,
            "written: " + path + "\nnext: write a value wherever a ? stands in it, then: burstloom coil show " + path + "\n");
}

TEST_F(FileNames, AreThemselvesInJson) {
  const std::string path = folder_ / "red\x1b[31m\nline.burst";
  EXPECT_EQ(json({"weave", kSong, "--coil", kCoil, "--out", path})["out"], path);
}

}  // namespace
}  // namespace burstloom::testing
