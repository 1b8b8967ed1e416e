// `burstloom set` as its users meet it.
#include <sstream>

#include "burstloom/sets/set_file.hpp"
#include "support.hpp"
#include "support/made_up_set.hpp"

namespace burstloom::testing {
namespace {

class SetCommand : public Command {
 protected:
  SetCommand() {
    evening_.folder = folder_.path();
    evening_.coil_file = kCoil;
    for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 3, 2, 4);
  }
  EveningFiles evening_;
};

TEST_F(SetCommand, WritesTheFolderAndSaysSoInATableOfEightyColumns) {
  const std::string out = folder_ / "evening";
  const Ran ran = run({"set", evening_.set_file(), "--out", out, "--plan", "--jobs", "2"});
  EXPECT_EQ(ran.code, 0) << ran.err;
  std::istringstream lines(ran.out);
  bool in_table = false;
  for (std::string line; std::getline(lines, line);) {
    in_table = in_table || line.find("margin %") != std::string::npos;
    if (line.starts_with("the evening")) break;
    if (in_table) {
      EXPECT_LE(line.size(), 80U) << line;
    }
  }
  EXPECT_TRUE(in_table) << ran.out;
  for (const char* file : {"set.json", "songs/01-made-up-1.burst", "songs/03-made-up-3.html"})
    EXPECT_TRUE(std::filesystem::exists(out + "/" + file)) << file;
  // A song of the set is a stream like any other, from the temperatures that it starts with.
  const auto set = nlohmann::json::parse(content_of(out + "/set.json"));
  const auto checked = json({"check", out + "/songs/03-made-up-3.burst"});
  EXPECT_EQ(checked["verdict"], "within limits");
  const auto& limits = set["songs"][2]["judgement"]["limits"];
  ASSERT_EQ(checked["limits"].size(), limits.size());
  for (std::size_t i = 0; i < limits.size(); ++i)
    EXPECT_EQ(checked["limits"][i]["worst"], limits[i]["worst"]);
  EXPECT_NE(content_of(out + "/songs/03-made-up-3.html").find("Made up 3"), std::string::npos);
}

TEST_F(SetCommand, TellsItAllInJson) {
  const auto set = json({"set", evening_.set_file(), "--plan"});
  EXPECT_EQ(set["verdict"], "within limits");
  EXPECT_EQ(set["songs"].size(), 3U);
  EXPECT_EQ(set["work"]["woven"], 3);
  EXPECT_EQ(set["plan"]["as_ordered"]["order"], (std::vector<int>{1, 2, 3}));
  EXPECT_EQ(set["songs"][1]["start_s"], set["songs"][0]["length_s"].get<double>() + 4);
}

TEST_F(SetCommand, APlanIsWrittenToANewFileOnly) {
  const std::string set = evening_.set_file(), before = content_of(set);
  const std::string plan = folder_ / "calmer.toml";
  EXPECT_EQ(run({"set", set, "--plan", "--out-plan", plan}).code, 0);
  EXPECT_EQ(content_of(set), before);
  const SetFile planned = read_set(plan);
  ASSERT_EQ(planned.songs.size(), 3U);
  EXPECT_EQ(planned.songs[0].pause_s, 0);  // nothing is warm here
  EXPECT_EQ(run({"set", plan}).code, 0);
  expect_refusal({"set", set, "--plan", "--out-plan", plan}, 2, {"is there already", "new name"});
  expect_refusal({"set", set, "--out-plan", folder_ / "other.toml"}, 2, {"--plan"});
  // Seen from another folder the songs are where they were.
  std::filesystem::create_directory(folder_ / "elsewhere");
  EXPECT_EQ(run({"set", set, "--plan", "--out-plan", folder_ / "elsewhere/calmer.toml"}).code, 0);
  EXPECT_EQ(run({"set", folder_ / "elsewhere/calmer.toml"}).code, 0);
}

TEST_F(SetCommand, BadInputGetsOneSentence) {
  expect_refusal({"set", folder_ / "none.toml"}, 3, {"none.toml"});
  expect_refusal({"set", folder_.write("s.toml", "coil = \"c.toml\"\nsong = 3\n")}, 3,
                 {"s.toml, line 2", "[[song]]"});
  expect_refusal(
      {"set", folder_.write("t.toml", "coil = \"" + kCoil + "\"\n[[song]]\nfile = \"gone.mid\"\n")}, 3,
      {"gone.mid"});
  expect_refusal({"set", evening_.set_file(), "--jobs", "65"}, 2, {"jobs"});
}

TEST_F(SetCommand, AStartAsHotAsALimitIsRefused) {
  evening_.start_c = 70;
  expect_refusal({"set", evening_.set_file()}, 3, {"set.toml", "start_c is 70 °C", "heatsink_c is 65 °C"});
}

TEST_F(SetCommand, ASetOfOneSongIsExported) {
  evening_.songs.resize(1);
  evening_.pauses_s.resize(1);
  const std::string out = folder_ / "evening";
  ASSERT_EQ(run({"set", evening_.set_file(), "--out", out, "--no-previews"}).code, 0);
  const Ran ran = run({"export", out, "--to", "header", "--out", folder_ / "one.h"});
  EXPECT_EQ(ran.code, 0) << ran.err;
  expect_refusal({"send", out, "--device", "/dev/null"}, 2, {"no serial line"});
  EXPECT_EQ(run({"check", out + "/songs/01-made-up-1.burst", "--set", out + "/set.json"}).code, 0);
}

// A song that is turned down even from the start that the set states: no pause mends that.
TEST_F(SetCommand, APlanThatDoesNotHoldIsNotWritten) {
  const std::string coil =
      folder_.write("narrow.toml", replaced(content_of(kCoil), "heatsink_c = 65.0", "heatsink_c = 25.6"));
  evening_.coil_file = coil;
  evening_.start_c = 25.59;
  const std::string plan = folder_ / "plan.toml";
  const Ran ran = run({"set", evening_.set_file(), "--plan", "--out-plan", plan});
  EXPECT_EQ(ran.code, 1) << ran.out;
  EXPECT_NE(ran.out.find("no plan was written"), std::string::npos) << ran.out;
  EXPECT_FALSE(std::filesystem::exists(plan));
  EXPECT_TRUE(json({"set", evening_.set_file(), "--plan", "--out-plan", plan}, 1)["out_plan"].is_null());
}

TEST_F(SetCommand, AnEveningOutsideItsLimitsIsExitCodeOne) {
  const std::string coil = folder_.write(
      "tight.toml",
      replaced(content_of(kCoil), "window_ms = 1000.0, percent = 7.0", "window_ms = 4000.0, percent = 0.5"));
  evening_.coil_file = coil;
  evening_.pauses_s = {0, 0, 0};
  const Ran ran = run({"set", evening_.set_file()});
  EXPECT_EQ(ran.code, 1);
  EXPECT_NE(ran.out.find("OUTSIDE LIMITS: 1 limit exceeded: duty 4000 ms, "), std::string::npos) << ran.out;
}

}  // namespace
}  // namespace burstloom::testing
