// `burstloom export` and `send` with several streams.
#include "burstloom/check/judge.hpp"
#include "burstloom/stream/files.hpp"
#include "burstloom/stream/one_stream.hpp"
#include "support.hpp"
#include "support/made_up_set.hpp"

namespace burstloom::testing {
namespace {

class Songs : public Command {
 protected:
  std::string weave_as(const std::string& name, const std::string& song) {
    const std::string out = folder_ / name;
    EXPECT_EQ(run({"weave", song, "--coil", kCoil, "--causal", "--out", out}).code, 0);
    return out;
  }
  // Bursts of 39 us every 165 us for 5 ms from `from_us` on, and one more at `last_us`: half of what 10 ms
  // allow.
  std::string burst_of_bursts(const std::string& name, int from_us, int last_us) {
    std::string text = "# tick_hz=2000000\nstart_us,on_us\n";
    for (int i = 0; i < 30; ++i) text += std::to_string(from_us + 165 * i) + ",39\n";
    return folder_.write(name, text + std::to_string(last_us) + ",39\n");
  }
};

TEST_F(Songs, BecomeOneImage) {
  const std::string one = weave_as("one.burst", kSong), two = weave_as("two.burst", kSound);
  const auto answer = json({"export", one, two, "--pause", "20", "--to", "project", "--out", folder_ / "p"});
  EXPECT_EQ(answer["verdict"], "within limits");
  ASSERT_EQ(answer["songs"].size(), 2u);
  EXPECT_EQ(answer["songs"][0]["title"], "Quayside Lanterns");
  EXPECT_GE(answer["songs"][0]["pause_s"].get<double>(), 20);
  EXPECT_LE(answer["songs"][0]["pause_s"].get<double>(), 21);
  EXPECT_EQ(answer["fits_on"][0], "atmega328p");
  const std::string header = content_of(folder_ / "p/burst_table.h");
  EXPECT_NE(header.find("#define BURST_SET_SONGS 2\n"), std::string::npos);
  EXPECT_NE(header.find("#define BURST_TABLE_BYTES " + answer["fit"]["image_bytes"].dump() + "UL"),
            std::string::npos);
  EXPECT_NE(content_of(folder_ / "p/README.md").find("| 0 | Quayside Lanterns |"), std::string::npos);
  const Ran words = run({"export", one, two, "--to", "header", "--out", folder_ / "h.h"});
  EXPECT_EQ(words.code, 0);
  EXPECT_NE(words.out.find("pause after"), std::string::npos) << words.out;
}

TEST_F(Songs, TakeAPauseForAllOrOneEach) {
  const std::string song = weave_as("one.burst", kSong);
  const auto answer = json({"export", song, song, song, "--pause", "5", "--pause", "8", "--to", "header",
                            "--out", folder_ / "x.h"});
  EXPECT_LT(answer["songs"][0]["pause_s"], 6);
  EXPECT_GT(answer["songs"][1]["pause_s"], 8);
  const auto with_pauses = [&](std::vector<std::string> pauses, std::vector<std::string> words) {
    std::vector<std::string> all = {"export", song, song, song, "--to", "header", "--out", folder_ / "y.h"};
    all.insert(all.end(), pauses.begin(), pauses.end());
    expect_refusal(all, 2, words);
  };
  with_pauses({"--pause", "1", "--pause", "2", "--pause", "3", "--pause", "4"},
              {"4 pauses for 3 songs", "--pause"});
  with_pauses({"--pause", "-1"}, {"a pause of -1 s"});
  expect_refusal({"export", song, "--pause", "1", "--to", "header", "--out", folder_ / "y.h"}, 2,
                 {"several"});
}

TEST_F(Songs, AreRefusedWithWhatIsForOneStream) {
  const std::string song = weave_as("one.burst", kSong), out = folder_ / "x";
  expect_refusal({"export", song, song, "--to", "csv", "--out", out}, 2, {"--to csv takes one stream"});
  expect_refusal({"export", song, song, "--from", "1", "--to", "header", "--out", out}, 2, {"--from"});
}

TEST_F(Songs, AreForOneCoil) {
  const std::string one = weave_as("one.burst", kSong), other = folder_ / "other.burst";
  ASSERT_EQ(
      run({"weave", kSong, "--coil", BURSTLOOM_SAMPLES "/coils/half-bridge-325v.toml", "--out", other}).code,
      0);
  expect_refusal({"export", one, other, "--to", "header", "--out", folder_ / "x"}, 2,
                 {"another coil profile", "other"});
  expect_refusal({"send", one, other, "--device", "/dev/null"}, 2, {"another coil profile"});
}

// Each song by itself may even loop; one right after the other they fill a window twice.
TEST_F(Songs, AreJudgedOneAfterTheOther) {
  const std::string late = burst_of_bursts("late.csv", 500'000, 505'200),
                    early = burst_of_bursts("early.csv", 500, 600'000);
  const std::vector<std::string> both = {"export", late,     early,   "--coil",       kCoil,
                                         "--to",   "header", "--out", folder_ / "x.h"};
  expect_refusal(both, 1, {"one after the other", "duty 10 ms", "--pause"});
  expect_refusal({"send", late, early, "--coil", kCoil, "--device", "/dev/null"}, 1, {"one after the other"});
  auto with_pause = both;
  with_pause.insert(with_pause.end(), {"--pause", "0.05"});
  EXPECT_EQ(json(with_pause)["verdict"], "within limits");
}

TEST_F(Songs, PauseForTheirRestAtLeastAndItIsTold) {
  const std::string song = burst_of_bursts("song.csv", 500, 5'700);
  const Ran ran = run({"export", song, song, "--coil", kCoil, "--to", "header", "--out", folder_ / "x.h"});
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_NE(ran.err.find("not 0 s: so long is its shortest rest"), std::string::npos) << ran.err;
}

// Each song's own rest brings it back to a start that it bears, but what comes after it begins on a sink that
// its planned pause was not planned for.
class SongsOnASmallSink : public Songs {
 protected:
  // Bursts of one length at one rate, and a short one at the song's end.
  std::string train(const std::string& name, int on_us, int period_us, int until_us, int last_us) {
    std::string text = "# tick_hz=2000000\nstart_us,on_us\n";
    for (int at_us = 500; at_us < until_us; at_us += period_us)
      text += std::to_string(at_us) + "," + std::to_string(on_us) + "\n";
    return folder_.write(name, text + std::to_string(last_us) + ",4\n");
  }
  std::string warm() { return train("warm.csv", 39, 1800, 20'000'000, 20'010'000); }
  std::string hot() { return train("hot.csv", 39, 640, 8'000'000, 8'010'000); }
  std::string coil() {
    std::string text = content_of(kCoil);
    text = replaced(text, "case_heat_capacity_j_per_k = 1.5", "case_heat_capacity_j_per_k = 0.05");
    text = replaced(text, "sink_to_ambient_k_per_w = 7.0", "sink_to_ambient_k_per_w = 40.0");
    text = replaced(text, "sink_heat_capacity_j_per_k = 45.0", "sink_heat_capacity_j_per_k = 0.6");
    return folder_.write("coil.toml", text);
  }
  // The songs as one image: the rest after a stop, and the pauses that it has.
  struct Image {
    double rest_s = 0;
    std::vector<double> pauses_s;
  };
  Image image_of(const std::vector<std::string>& songs, const std::vector<std::string>& pauses) {
    std::vector<std::string> words = {"export"};
    words.insert(words.end(), songs.begin(), songs.end());
    for (const std::string& pause : pauses) words.insert(words.end(), {"--pause", pause});
    words.insert(words.end(), {"--coil", coil(), "--to", "header", "--out", folder_ / "x.h"});
    const auto answer = json(words);
    Image image{answer["rest_s"], {}};
    for (const auto& song : answer["songs"]) image.pauses_s.push_back(song["pause_s"]);
    return image;
  }
  // Songs by number, each with the pause before the next one, judged as one stream.
  bool holds(const std::vector<std::string>& songs, const std::vector<std::size_t>& order,
             const std::vector<double>& pauses_s) {
    std::vector<BurstStream> streams;
    for (const std::string& path : songs) streams.push_back(read_stream(path, {}).file.stream);
    std::vector<const BurstStream*> all;
    std::vector<Tick> pauses;
    for (std::size_t i = 0; i < order.size(); ++i) {
      all.push_back(&streams[order[i]]);
      pauses.push_back(nearest_tick(i < pauses_s.size() ? pauses_s[i] : 0, 2'000'000));
    }
    return judge(one_stream(all, pauses), read_profile(coil())).verdict == Verdict::within_limits;
  }
};

TEST_F(SongsOnASmallSink, RestAfterAResetUntilAllThatFollowsHolds) {
  const std::vector<std::string> songs = {warm(), hot(),
                                          train("cool.csv", 10, 1'000'000, 1'500'000'000, 1'500'010'000)};
  const auto [rest_s, pauses_s] = image_of(songs, {"53", "70"});
  const auto after = [&](double seconds) {
    return holds(songs, {0, 1, 0, 1, 2}, {pauses_s[0], seconds, pauses_s[0], pauses_s[1]});
  };
  EXPECT_TRUE(after(rest_s));
  EXPECT_FALSE(after(0.8 * rest_s));
}

// Begun anew after a stop, the second song lacks the long pause before it, and the third one begins warmer
// for it. A reset would come to that pause again.
TEST_F(SongsOnASmallSink, RestAfterAStopUntilAllThatFollowsHolds) {
  const std::vector<std::string> songs = {train("quiet.csv", 10, 100'000, 1'000'000, 1'010'000), warm(),
                                          hot(), train("last.csv", 10, 100'000, 1'000'000, 1'010'000)};
  const auto [rest_s, pauses_s] = image_of(songs, {"600", "53", "80"});
  const auto after = [&](double seconds) {
    return holds(songs, {0, 1, 1, 2, 3}, {pauses_s[0], seconds, pauses_s[1], pauses_s[2]});
  };
  EXPECT_TRUE(after(rest_s));
  EXPECT_FALSE(after(0.8 * rest_s));
}

TEST_F(Songs, AreSentOnlyWhenAllAreInOrder) {
  const std::string song = weave_as("one.burst", kSong);
  const std::string bad = folder_.write("bad.csv", "# tick_hz=2000000\nstart_us,on_us\n0,30\n80,30\n");
  expect_refusal({"send", song, bad, "--coil", kCoil, "--device", "/dev/null"}, 1, {"bad.csv", "gap"});
  expect_refusal({"send", song, "--pause", "3", "--device", "/dev/null"}, 2, {"several"});
  expect_refusal({"send", song, song, "--device", "/dev/null"}, 2, {"no serial line"});
}

}  // namespace
}  // namespace burstloom::testing
