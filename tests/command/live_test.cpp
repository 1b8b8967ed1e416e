// Playing live, as far as it goes without a MIDI port.
#include "support.hpp"

namespace burstloom::testing {
namespace {

TEST_F(Command, LiveTakesNoFilesPlace) {
  for (const char* file : {"song.burst", "song.mid"}) {
    const Folder folder;
    const std::string there = folder.write(file, "mine"), name = folder / "song";
    for (const std::vector<std::string>& where : {std::vector<std::string>{"--to", name + ".burst"},
                                                  {"--to", "/dev/null", "--record", name},
                                                  {"--to", "/dev/null", "--record", name + ".burst"}}) {
      std::vector<std::string> words = {"live", "--coil", kCoil, "--virtual", "keys"};
      words.insert(words.end(), where.begin(), where.end());
      expect_refusal(words, 2, {"this file is there already", file});
      EXPECT_EQ(content_of(there), "mine");
    }
  }
}

}  // namespace
}  // namespace burstloom::testing
