// By whose limits commands judge: the stream's own, those of --coil, or the bench coil's; and that they say
// so.
#include <cstdlib>

#include "burstloom/common/words.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

std::string joined(const std::string& comment) {
  std::string text;
  for (std::size_t at = 0; at < comment.size(); ++at)
    if (comment.compare(at, 6, "\n *   ") == 0)
      at += 5, text += ' ';
    else
      text += comment[at];
  return text;
}

void expect_in(const std::string& text, const std::vector<std::string>& parts) {
  for (const std::string& part : parts)
    EXPECT_NE(text.find(part), std::string::npos) << part << " in:\n" << text;
}

class WhoseLimits : public Command {
 protected:
  // Bursts up to 90 us, from somebody whose coil bears that; the bundled coil allows 40.
  void SetUp() override {
    std::string profile = replaced(content_of(kCoil), "max = 40.0", "max = 90.0");
    profile = replaced(profile, "Tern, table-top", "Goliath");
    stranger_ = folder_ / "stranger.burst";
    const Ran ran = run({"coil", "steps", folder_.write("goliath.toml", profile), "--out", stranger_});
    ASSERT_EQ(ran.code, 0) << ran.err;
  }
  void use(const std::string& coil) { ASSERT_EQ(run({"coil", "use", coil}).code, 0); }
  std::string export_to(const std::string& format, const std::string& name) {
    return run({"export", stranger_, "--to", format, "--out", folder_ / name}).out;
  }

  std::string stranger_;
};

TEST_F(WhoseLimits, OfAFileAreSaidInAnswerHeaderAndReadme) {
  const std::string limits =
      "judged by the limits of \"Goliath\" from the stream file: on-time at most 90 µs, gap at least 120 µs, "
      "duty at most 14 % of any 10 ms and 7 % of any 1000 ms, peak current at most 70 A";
  const std::string in_ascii = with_ascii_units(limits);
  expect_in(run({"check", stranger_}).out, {limits});
  expect_in(run({"preview", stranger_, "--image", folder_ / "p.svg"}).out,
            {limits, "not judged: switch voltage"});
  expect_in(export_to("project", "project"),
            {limits, "no bench coil is named", "not judged: switch voltage"});
  expect_in(joined(content_of(folder_ / "project/burst_table.h")), {in_ascii, "no bench coil is named"});
  expect_in(content_of(folder_ / "project/README.md"), {in_ascii, "no bench coil is named"});
}

TEST_F(WhoseLimits, WhatIsNotJudgedIsSaid) {
  const std::string bare = folder_.write("bare.toml",
                                         "name = \"Bare\"\n[limits]\non_time_us = { min = 2.0, max = 90.0 }\n"
                                         "gap_us = 100.0\nduty = [ { window_ms = 10.0, percent = 14.0 } ]\n"
                                         "junction_c = 100.0\n");
  const Ran ran = run({"export", stranger_, "--coil", bare, "--to", "header", "--out", folder_ / "t.h"});
  ASSERT_EQ(ran.code, 0) << ran.err;
  const std::vector<std::string> parts = {"of \"Bare\" from --coil bare.toml: ", "peak current not limited",
                                          "not judged: ", "junction"};
  expect_in(ran.out, parts);
  expect_in(joined(content_of(folder_ / "t.h")), parts);
}

TEST_F(WhoseLimits, InJson) {
  const auto own = json({"check", stranger_})["judged_by"];
  EXPECT_EQ(own["coil"], "Goliath");
  EXPECT_EQ(own["limits_from"], "the stream file");
  EXPECT_EQ(own["on_time_max_us"], 90.0);
  EXPECT_EQ(own["gap_us"], 120.0);
  EXPECT_EQ(own["duty"][1]["percent"], 7.0);
  EXPECT_EQ(own["peak_current_a"], 70.0);
  EXPECT_EQ(own["woven_for_another"], false);
  use(kCoil);
  const auto bench = json({"check", stranger_}, 1)["judged_by"];
  EXPECT_EQ(bench["limits_from"], "the bench coil");
  EXPECT_EQ(bench["woven_for_another"], true);
  EXPECT_EQ(bench["on_time_max_us"], 40.0);
  const auto all_the_same = json(
      {"export", stranger_, "--to", "csv", "--out", folder_ / "s.csv", "--trust-file-limits"})["judged_by"];
  EXPECT_EQ(all_the_same["overrides_bench_coil"], true);
  EXPECT_EQ(all_the_same["coil"], "Goliath");
}

TEST_F(WhoseLimits, OfAStrangerAreNotThoseOfTheBenchCoil) {
  use(kCoil);
  for (const char* format : {"header", "project", "csv", "vcd", "wav"})
    expect_refusal({"export", stranger_, "--to", format, "--out", folder_ / "x"}, 1,
                   {"1 limit exceeded: on-time, ", "judged by the limits from the bench coil",
                    "woven for another coil"});
  expect_refusal({"export", stranger_, stranger_, "--to", "header", "--out", folder_ / "x"}, 1,
                 {"1 limit exceeded: on-time, "});
  expect_refusal({"send", stranger_, "--device", "/dev/null"}, 1,
                 {"1 limit exceeded: on-time, ", "from the bench coil"});
}

TEST_F(WhoseLimits, OfAStrangerArePlayedAtAnExplicitWord) {
  use(kCoil);
  const Ran ran =
      run({"export", stranger_, "--to", "project", "--trust-file-limits", "--out", folder_ / "project"});
  EXPECT_EQ(ran.code, 0) << ran.err;
  const std::vector<std::string> parts = {
      "of \"Goliath\" from the stream file",
      "--trust-file-limits: the bench coil \"Tern, table-top\" was overridden"};
  expect_in(ran.out, parts);
  expect_in(joined(content_of(folder_ / "project/burst_table.h")), parts);
  expect_in(content_of(folder_ / "project/README.md"), parts);
  expect_refusal({"send", stranger_, "--device", "/dev/null", "--trust-file-limits", "--baud", "9600"}, 2,
                 {});
  expect_refusal(
      {"export", stranger_, "--to", "csv", "--coil", kCoil, "--trust-file-limits", "--out", folder_ / "x"}, 2,
      {"--trust-file-limits"});
}

TEST_F(WhoseLimits, CommandsThatOnlyLookJudgeByTheBenchCoilToo) {
  use(kCoil);
  const std::vector<std::string> parts = {"of \"Tern, table-top\" from the bench coil",
                                          "on-time at most 40 µs",
                                          "woven for another profile than the bench coil"};
  const Ran checked = run({"check", stranger_});
  EXPECT_EQ(checked.code, 1);
  expect_in(checked.out, parts);
  const Ran seen = run({"preview", stranger_, "--no-audio", "--out", folder_ / "p.html"});
  EXPECT_EQ(seen.code, 1);
  expect_in(seen.out, parts);
  expect_in(
      content_of(folder_ / "p.html"),
      {R"("limits":"judged by the limits of \"Tern, table-top\" from the bench coil)", R"("judged_by":)"});
}

TEST_F(WhoseLimits, OfTheCoilOptionComeFirst) {
  use(kCoil);
  const Ran ran = run(
      {"export", stranger_, "--coil", folder_ / "goliath.toml", "--to", "csv", "--out", folder_ / "s.csv"});
  EXPECT_EQ(ran.code, 0) << ran.err;
  expect_in(ran.out, {"of \"Goliath\" from --coil goliath.toml"});
  EXPECT_EQ(ran.out.find("woven for another"), std::string::npos) << ran.out;
}

TEST_F(WhoseLimits, OfASetsCoilGoForACaptureOfIt) {
  folder_.write("e.toml", "coil = \"goliath.toml\"\n[[song]]\nfile = \"" + kSong + "\"\n");
  ASSERT_EQ(run({"set", folder_ / "e.toml", "--out", folder_ / "e", "--no-previews"}).code, 0);
  const std::string csv = folder_.write("c.csv", "# tick_hz=2000000\nstart_us,on_us\n0,80\n");
  expect_in(run({"check", csv, "--set", folder_ / "e"}).out, {"of \"Goliath\" from the set: "});
  use(kCoil);
  expect_in(run({"check", csv, "--set", folder_ / "e"}).out, {"from the bench coil: "});
}

class Bench : public WhoseLimits {
 protected:
  [[nodiscard]] std::string copy() const { return configuration_ / "burstloom/bench-coil.toml"; }
};

TEST_F(Bench, CoilIsUsedWhereNoneIsNamed) {
  const std::string song = folder_ / "s.burst";
  expect_refusal({"weave", kSong, "--out", song}, 2, {"no coil is named", "--coil", "coil use"});
  expect_refusal({"live", "--virtual", "keys", "--to", folder_ / "l.burst"}, 2, {"no coil is named"});
  expect_refusal({"export", "--to", "player", "--out", folder_ / "p"}, 2, {"no coil is named"});
  use(kCoil);
  const std::string said = "judged by the limits of \"Tern, table-top\" from the bench coil";
  expect_in(run({"weave", kSong, "--out", song}).out, {said});
  expect_in(run({"weave", kSong, "--live", "--out", song}).out, {said});
  expect_in(run({"export", "--to", "player", "--out", folder_ / "p"}).out, {said});
  expect_in(joined(content_of(folder_ / "p/burst_table.h")), {said});
  expect_in(content_of(folder_ / "p/README.md"), {said});
}

TEST_F(Bench, CoilIsNamedShownAndForgotten) {
  EXPECT_EQ(json({"coil", "use"})["bench_coil"], nullptr);
  expect_in(run({"coil", "use"}).out, {"no bench coil is named"});
  expect_in(run({"coil", "use", kCoil}).out,
            {"the bench coil is \"Tern, table-top\": on-time at most 40 µs"});
  EXPECT_EQ(json({"coil", "use"})["bench_coil"]["original"],
            std::filesystem::path(kCoil).lexically_normal().string());
  expect_in(run({"coil", "use", "--none"}).out, {"forgotten"});
  EXPECT_FALSE(std::filesystem::exists(copy()));
  expect_in(run({"coil", "use", "--none"}).out, {"there was no bench coil"});
  EXPECT_EQ(run({"export", stranger_, "--to", "csv", "--out", folder_ / "s.csv"}).code, 0);
}

TEST_F(Bench, CoilIsACopyThatSaysWhenItsOriginalHasChanged) {
  // Line ends of Windows, quotes and backslashes have to come through.
  const std::string profile = "# \"\"\" ''' \\u0041 \xC2\xB5\r\n" + content_of(kCoil);
  const std::string mine = folder_ / "mine.toml";
  for (const std::string& text : {"# plain\r\n" + content_of(kCoil), profile}) {
    use(folder_.write("mine.toml", text));
    EXPECT_EQ(json({"coil", "use"})["bench_coil"]["original_has_changed"], false);
  }
  EXPECT_EQ(run({"check", stranger_}).out.find("its original has changed"), std::string::npos);
  folder_.write("mine.toml", replaced(profile, "max = 40.0", "max = 95.0"));
  const Ran ran = run({"check", stranger_});
  EXPECT_EQ(ran.code, 1);  // the copy holds
  expect_in(ran.out, {"on-time at most 40 µs", "its original has changed since", mine});
  EXPECT_EQ(json({"coil", "use"})["bench_coil"]["original_has_changed"], true);
  std::filesystem::remove(mine);
  expect_in(run({"coil", "use"}).out, {"which is not there any more"});
  EXPECT_EQ(run({"check", stranger_}).code, 1);
  use(folder_ / "goliath.toml");
  EXPECT_EQ(run({"check", stranger_}).code, 0);
}

// Never the stranger's limits in its place.
TEST_F(Bench, CoilThatIsDamagedStopsEverythingThatWouldUseIt) {
  use(kCoil);
  const std::string whole = content_of(copy());
  const auto damage = [&](const std::string& text) { std::ofstream(copy(), std::ios::binary) << text; };
  for (const std::string& text : {std::string(), whole.substr(0, whole.size() / 2),
                                  replaced(whole, "max = 40.0", "max = 99.0"), std::string("\xFF\xFE")}) {
    damage(text);
    expect_refusal({"export", stranger_, "--to", "csv", "--out", folder_ / "x"}, 3,
                   {"bench-coil.toml", "cannot be used", "coil use"});
    expect_refusal({"check", stranger_}, 3, {"bench-coil.toml"});
    expect_refusal({"weave", kSong, "--out", folder_ / "x"}, 3, {"bench-coil.toml"});
    expect_refusal({"coil", "use"}, 3, {"bench-coil.toml"});
  }
  EXPECT_EQ(run({"check", stranger_, "--coil", folder_ / "goliath.toml"}).code, 0);
  damage(whole);
  EXPECT_EQ(run({"check", stranger_}).code, 1);
}

TEST_F(Bench, CoilThatCannotBeReadIsTheMachinesFault) {
  std::filesystem::create_directories(copy());
  expect_refusal({"export", stranger_, "--to", "csv", "--out", folder_ / "x"}, 4,
                 {"the bench coil cannot be read"});
  expect_refusal({"coil", "use", kCoil}, 4, {"bench-coil.toml"});
  std::filesystem::remove(copy());
  std::filesystem::create_symlink(folder_ / "nowhere", copy());
  expect_refusal({"check", stranger_}, 4, {"the bench coil cannot be read"});
}

TEST_F(Bench, CoilNeedsAFolderToBeKeptIn) {
  const std::string kept = std::getenv("HOME") == nullptr ? "" : std::getenv("HOME");
  no_configuration_ = true;
  ::unsetenv("HOME");
  expect_refusal({"coil", "use", kCoil}, 4, {"HOME is not set"});
  EXPECT_EQ(run({"check", stranger_}).code, 0);
  ::setenv("HOME", configuration_.path().c_str(), 1);
  EXPECT_EQ(run({"coil", "use", kCoil}).code, 0);
  EXPECT_TRUE(std::filesystem::exists(configuration_ / ".config/burstloom/bench-coil.toml"));
  if (!kept.empty()) ::setenv("HOME", kept.c_str(), 1);
}

// The same coil with other comments, or warmed by songs before, is no other coil; the warmer start counts.
TEST_F(Bench, CoilIsTheSameWithOtherCommentsAndTemperatures) {
  const std::string warm =
      replaced(content_of(kCoil), "start_c = 25.0", "start_c = 50.0  # after the overture");
  const std::string song = folder_ / "s.burst";
  ASSERT_EQ(run({"coil", "steps", folder_.write("warm.toml", warm), "--out", song}).code, 0);
  const auto heatsink = [&] {
    const auto judged = json({"check", song});
    EXPECT_EQ(judged["judged_by"]["woven_for_another"], false);
    for (const auto& limit : judged["limits"])
      if (limit["limit"] == "heatsink") return limit["worst"].get<double>();
    return 0.0;
  };
  const double own_c = heatsink();
  EXPECT_GE(own_c, 50);
  use(kCoil);
  EXPECT_EQ(heatsink(), own_c);
}

}  // namespace
}  // namespace burstloom::testing
