// `burstloom check` of a capture beside the songs that it should hold.
#include <filesystem>

#include "burstloom/common/content_hash.hpp"
#include "burstloom/sets/set_json.hpp"
#include "burstloom/stream/files.hpp"
#include "support.hpp"
#include "support/evening.hpp"

namespace burstloom::testing {
namespace {

namespace fs = std::filesystem;

class EveningCheck : public Command {
 protected:
  void SetUp() override {
    fs::create_directories(folder_ / "set/songs");
    BuiltSet set;
    for (std::size_t i = 0; i < 3; ++i) {
      songs_.push_back(made_up_song(30 + i, 5));
      paths_.push_back(folder_ / ("set/songs/0" + std::to_string(i + 1) + "-song.burst"));
      const Bytes bytes = to_burst_file({songs_.back(), "", "", {}});
      write_file(paths_.back(), bytes);
      BuiltSong song;
      song.stream_hash = content_hash(bytes);
      song.burst_file = fs::path(paths_.back()).lexically_relative(folder_ / "set").string();
      set.songs.push_back(song);
    }
    write_file(folder_ / "set/set.json", to_set_json(set));
  }
  std::string capture(const std::vector<Performance>& how) {
    evening_ = make_evening(songs_, how, 9);
    write_file(folder_ / "evening.csv", to_csv(evening_.capture));
    return folder_ / "evening.csv";
  }

  std::vector<BurstStream> songs_;
  std::vector<std::string> paths_;
  Evening evening_;
};

TEST_F(EveningCheck, TellsWhatWasPlayed) {
  const std::string path = capture(
      {{.song = 0, .jitter_us = 1, .lost = 0.02}, {.song = 2, .ratio = 1.005, .until = 1500}, {.song = 0}});
  const auto told = json({"check", path, "--coil", kCoil, "--set", folder_ / "set"}, 1);
  EXPECT_EQ(told["stream"]["bursts"], evening_.capture.bursts.size());
  EXPECT_EQ(told["tolerance_us"], 0.1);  // a tick: what a CSV beside songs holds is a capture
  const auto& played = told["evening"]["played"];
  ASSERT_EQ(played.size(), 3U);
  EXPECT_EQ(played[0]["song"], "01-song");
  EXPECT_EQ(played[0]["missing"], evening_.truth[0].missing);
  EXPECT_EQ(played[1]["number"], 3);
  EXPECT_EQ(played[1]["to_end"], false);
  EXPECT_NEAR(played[1]["clock_ppm"].get<double>(), 5000, 1);
  EXPECT_EQ(played[2]["repeated"], true);
  EXPECT_EQ(told["evening"]["not_played"].dump(), "[\"02-song\"]");
  EXPECT_EQ(told["evening"]["unknown_bursts"], 0);
  const auto by_name = json(
      {"check", path, "--coil", kCoil, "--played", paths_[0], "--played", paths_[1], "--played", paths_[2]},
      1);
  EXPECT_EQ(by_name, told);
}

TEST_F(EveningCheck, SaysItInWords) {
  const std::string path = capture({{.song = 1}, {.song = 0, .from = 1000}, {.song = 2, .until = 700}});
  const Ran ran = run({"check", path, "--coil", kCoil, "--played", paths_[0], "--played", paths_[1]});
  for (const char* words : {"02-song", "01-song", "out of order", "from 0:0", "of no song: 700 bursts from"})
    EXPECT_NE(ran.out.find(words), std::string::npos) << words << " in: " << ran.out;
  const Ran none = run({"check", path, "--coil", kCoil, "--played",
                        folder_.write("e.csv", "# tick_hz=1000\nstart_us,on_us\n")});
  EXPECT_NE(none.out.find("none of the songs was played"), std::string::npos) << none.out;
}

TEST_F(EveningCheck, RefusesAFolderThatIsNoSet) {
  const std::string path = capture({{.song = 0}});
  expect_refusal({"check", path, "--coil", kCoil, "--set", folder_ / "nowhere"}, 3,
                 {"nowhere", "there is no folder"});
  expect_refusal({"check", path, "--coil", kCoil, "--set", folder_ / "set", "--played", paths_[0]}, 2,
                 {"--played"});
  expect_refusal({"check", path, "--coil", kCoil, "--played", folder_ / "gone.burst"}, 3,
                 {"there is no such file"});
}

}  // namespace
}  // namespace burstloom::testing
