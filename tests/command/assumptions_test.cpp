// What a judgement of heat assumes is told wherever heat is judged.
#include "support.hpp"

namespace burstloom::testing {
namespace {

class Assumptions : public Command {
 protected:
  // The bundled coil without what its maker knew of the case.
  std::string coil() {
    std::string text = content_of(kCoil);
    const std::size_t at = text.find("case_heat_capacity_j_per_k");
    text.erase(at, text.find('\n', at) - at);
    const std::string path = folder_ / "coil.toml";
    std::ofstream(path) << text;
    return path;
  }
  static void expect_told(const std::string& text, const std::string& by) {
    for (const char* told : {"0.3 J/K", "1.5 V"}) EXPECT_NE(text.find(told), std::string::npos) << by << text;
  }
};

TEST_F(Assumptions, AreToldByEveryCommandThatJudgesHeat) {
  const std::string coil = this->coil(), stream = folder_ / "s.burst";
  expect_told(run({"weave", kSong, "--coil", coil, "--out", stream}).out, "weave");
  expect_told(run({"check", stream}).out, "check");
  expect_told(run({"coil", "show", coil}).out, "coil show");
  expect_told(json({"check", stream})["remarks"].dump(), "check --json");
  expect_told(json({"coil", "show", coil})["remarks"].dump(), "coil show --json");
  (void)run({"preview", stream, "--out", folder_ / "r.html", "--no-audio"});
  expect_told(content_of(folder_ / "r.html"), "the report");
}

TEST_F(Assumptions, OfWhatIsGivenNothingIsSaid) {
  const std::string told = run({"coil", "show", kCoil}).out;
  EXPECT_EQ(told.find("0.3 J/K"), std::string::npos);
  EXPECT_NE(told.find("1.5 V"), std::string::npos);
}

}  // namespace
}  // namespace burstloom::testing
