// What stands where a command writes: its own output of before is replaced, nothing of the user's is.
#include "support.hpp"
#include "support/made_up_set.hpp"

namespace burstloom::testing {
namespace {

namespace fs = std::filesystem;
using Words = std::vector<std::string>;

class Overwrite : public Command {
 protected:
  /// `words`, with the path of a file of the folder for each that starts with '@'.
  Words in_folder(Words words) {
    for (std::string& word : words)
      if (word.starts_with('@')) word = folder_ / word.substr(1);
    return words;
  }
  static Words with(Words words, const std::string& more) {
    words.push_back(more);
    return words;
  }
  void expect_refused(const Words& words, const std::string& path, const std::string& what) {
    SCOPED_TRACE(words[0] + " " + path);
    const std::string before = content_of(path);
    expect_refusal(words, 2, {what, "--force"});
    EXPECT_EQ(content_of(path), before);
  }
  std::map<std::string, std::string> files_of(const std::string& folder) {
    std::map<std::string, std::string> all;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
      if (entry.is_regular_file()) all[entry.path().string()] = content_of(entry.path().string());
    return all;
  }
};

struct Writing {
  Words words;
  std::string file;
};

TEST_F(Overwrite, AFileOfAnotherKindIsNotReplaced) {
  ASSERT_EQ(run(in_folder({"coil", "steps", kCoil, "--out", "@s.burst"})).code, 0);
  const std::string song = folder_.write("short.mid", "");
  write_bytes(song, to_midi(made_up_song(1, 2, 1)));
  const std::vector<Writing> all = {
      {{"coil", "steps", kCoil, "--out", "@o.burst"}, "o.burst"},
      {{"coil", "show", kCoil, "--plot", "@o.svg"}, "o.svg"},
      {{"coil", "show", kCoil, "--plot", "@o.png"}, "o.png"},
      {{"weave", song, "--coil", kCoil, "--out", "@w.burst"}, "w.burst"},
      {{"weave", song, "--coil", kCoil, "--live", "--out", "@l.burst"}, "l.burst"},
      {{"weave", song, "--coil", kCoil, "--out", "@w2.burst", "--ledger", "@l.csv"}, "l.csv"},
      {{"export", "@s.burst", "--to", "csv", "--out", "@o.csv"}, "o.csv"},
      {{"export", "@s.burst", "--to", "vcd", "--out", "@o.vcd"}, "o.vcd"},
      {{"export", "@s.burst", "--to", "wav", "--out", "@o.wav", "--until", "0.1"}, "o.wav"},
      {{"export", "@s.burst", "--to", "wav", "--rate", "201000", "--out", "@r.wav", "--until", "0.1"},
       "r.wav"},
      {{"export", "@s.burst", "--to", "header", "--out", "@o.h"}, "o.h"},
      {{"export", "@s.burst", "@s.burst", "--to", "header", "--out", "@two.h"}, "two.h"},
      {{"preview", "@s.burst", "--no-audio", "--out", "@o.html"}, "o.html"},
      {{"preview", "@s.burst", "--sound", "@p.wav"}, "p.wav"},
      {{"preview", "@s.burst", "--sound", "@p.flac"}, "p.flac"},
      {{"preview", "@s.burst", "--image", "@p.svg"}, "p.svg"},
      {{"preview", "@s.burst", "--image", "@p.png"}, "p.png"}};
  const std::vector<std::string> theirs = {content_of(kSong),
                                           content_of(kCoil),
                                           content_of(kSound).substr(0, 5000),
                                           "<!DOCTYPE html>\n<title>Burstloom and I</title>",
                                           "start_us,on_us\n0,10\n",
                                           "$version Burstloom3 $end\n",
                                           "/* Burstloom */"};
  for (const auto& [words, file] : all) {
    const Words run_it = in_folder(words);
    for (std::size_t i = 0; i < theirs.size(); ++i) {
      if (i > 1 && file != "o.html" && file != "o.csv" && file != "p.flac" && file != "o.h" &&
          file != "o.vcd")
        break;
      folder_.write(file, theirs[i]);
      expect_refused(run_it, folder_ / file, "Burstloom wrote");
    }
    const Ran forced = run(with(run_it, "--force"));
    EXPECT_EQ(forced.code, 0) << file << forced.err;
    EXPECT_NE(content_of(folder_ / file), theirs[0]);
    EXPECT_EQ(run(run_it).code, 0) << file << ": not over its own output of before";
    folder_.write(file, "");
    EXPECT_EQ(run(run_it).code, 0) << file << ": nothing is lost with an empty file";
  }
}

TEST_F(Overwrite, WhatIsThereToBeEditedIsReplacedOnlyWhenAsked) {
  const std::vector<Writing> all = {{{"coil", "new", "--out", "@new.toml"}, "new.toml"},
                                    {{"song", kSong, "--suggest", "@parts.toml"}, "parts.toml"},
                                    {{"song", kSound, "--score", "@heard.mid"}, "heard.mid"}};
  for (const auto& [words, file] : all) {
    const Words run_it = in_folder(words);
    EXPECT_EQ(run(run_it).code, 0);
    const std::string first = content_of(folder_ / file);
    EXPECT_EQ(run(run_it).code, 0) << file << ": unedited, nothing is lost";
    folder_.write(file, first + "# mine\n");
    expect_refused(run_it, folder_ / file, "another file of that name");
    EXPECT_EQ(run(with(run_it, "--force")).code, 0);
    EXPECT_EQ(content_of(folder_ / file), first);
  }
}

TEST_F(Overwrite, AnInputIsNotReplacedEvenByForce) {
  ASSERT_EQ(run(in_folder({"coil", "steps", kCoil, "--out", "@s.burst"})).code, 0);
  expect_refusal(in_folder({"export", "@s.burst", "--to", "csv", "--out", "@s.burst", "--force"}), 2,
                 {"would be replaced"});
}

class OverwriteFolder : public Overwrite, public ::testing::WithParamInterface<Words> {
 protected:
  OverwriteFolder() {
    EXPECT_EQ(run(in_folder({"coil", "steps", kCoil, "--steps", "3", "--out", "@s.burst"})).code, 0);
    words_ = in_folder(GetParam());
  }
  std::string out_ = folder_ / "out";
  Words words_;
};

TEST_P(OverwriteFolder, ItsOwnFilesAreReplaced) {
  ASSERT_EQ(run(words_).code, 0);
  const auto first = files_of(out_);
  folder_.write("out/notes.txt", "mine");
  const Ran again = run(words_);
  EXPECT_EQ(again.code, 0) << again.err;
  auto after = files_of(out_);
  EXPECT_EQ(after.erase(out_ + "/notes.txt"), 1U);
  EXPECT_TRUE(after == first);
  // Other content over content of before.
  const bool is_player = words_[2] == "player" || words_[4] == "player";
  const Words other =
      is_player ? in_folder({"export", "--coil", kCoil, "--to", "player", "--rest", "99", "--out", "@out"})
                : in_folder({"export", "@s.burst", "--to", "project", "--until", "1.5", "--out", "@out"});
  for (const Words& each : {other, words_, other}) {
    const Ran ran = run(each);
    EXPECT_EQ(ran.code, 0) << ran.err;
  }
}

TEST_P(OverwriteFolder, AFolderOfTheUsersIsNoPlaceForIt) {
  fs::create_directory(out_);
  EXPECT_EQ(run(words_).code, 0) << "it is empty";
  fs::remove_all(out_);
  fs::create_directory(out_);
  folder_.write("out/photo.jpg", "mine");
  expect_refused(words_, out_ + "/photo.jpg", "photo.jpg");
  EXPECT_EQ(files_of(out_).size(), 1U);
  EXPECT_EQ(run(with(words_, "--force")).code, 0);
  EXPECT_EQ(content_of(out_ + "/photo.jpg"), "mine");
}

TEST_P(OverwriteFolder, AFileThatIsNotOursOrWasEditedStays) {
  for (const char* name : {"Makefile", "README.md", "player/player.c"}) {
    SCOPED_TRACE(name);
    fs::remove_all(out_);
    ASSERT_EQ(run(words_).code, 0);
    ASSERT_TRUE(fs::exists(out_ + "/" + name));
    const auto first = files_of(out_);
    folder_.write(std::string("out/") + name, "mine");
    const auto before = files_of(out_);
    expect_refused(words_, out_ + "/" + name, name);
    EXPECT_TRUE(files_of(out_) == before);
    EXPECT_EQ(run(with(words_, "--force")).code, 0);
    EXPECT_TRUE(files_of(out_) == first);
  }
}

TEST_P(OverwriteFolder, NoLinkInItIsFollowed) {
  ASSERT_EQ(run(words_).code, 0);
  fs::create_directory(folder_ / "home");
  folder_.write("home/diary.txt", "mine");
  fs::remove_all(out_ + "/player");
  fs::create_directory_symlink(folder_ / "home", out_ + "/player");
  for (const bool forced : {false, true}) {
    const Ran ran = run(forced ? with(words_, "--force") : words_);
    EXPECT_EQ(ran.code, 2);
    EXPECT_NE(ran.err.find("symbolic link"), std::string::npos) << ran.err;
    EXPECT_EQ(files_of(folder_ / "home").size(), 1U);
  }
  fs::remove(out_ + "/player");
  fs::remove(out_ + "/Makefile");
  fs::create_symlink(folder_ / "home/diary.txt", out_ + "/Makefile");
  expect_refused(words_, folder_ / "home/diary.txt", "Makefile");
  EXPECT_EQ(run(with(words_, "--force")).code, 0);
  EXPECT_EQ(content_of(folder_ / "home/diary.txt"), "mine");
  EXPECT_FALSE(fs::is_symlink(out_ + "/Makefile"));
}

INSTANTIATE_TEST_SUITE_P(
    Exports, OverwriteFolder,
    ::testing::Values(Words{"export", "@s.burst", "--to", "project", "--out", "@out"},
                      Words{"export", "--coil", kCoil, "--to", "player", "--out", "@out"},
                      Words{"export", "@s.burst", "@s.burst", "--to", "project", "--out", "@out"}));

class OverwriteSet : public Overwrite {
 protected:
  OverwriteSet() {
    evening_.folder = folder_.path();
    evening_.coil_file = kCoil;
    for (unsigned i = 1; i <= 2; ++i) evening_.add_made_up(i, 2, 1, 30);
    words_ = {"set", evening_.set_file(), "--out", out_, "--no-previews", "--jobs", "1"};
    EXPECT_EQ(run(words_).code, 0);
  }
  EveningFiles evening_;
  std::string out_ = folder_ / "evening", song_ = out_ + "/songs/01-made-up-1.burst";
  Words words_;
};

TEST_F(OverwriteSet, ASongThatWasReplacedIsMadeAgainOnlyWhenAsked) {
  const std::string whole = content_of(song_);
  folder_.write("evening/songs/01-made-up-1.burst", "mine");
  expect_refused(words_, song_, "01-made-up-1.burst");
  EXPECT_EQ(run(with(words_, "--force")).code, 0);
  EXPECT_EQ(content_of(song_), whole);
}

TEST_F(OverwriteSet, AStreamThatIsNotTheOneThatWasJudgedIsRefused) {
  const std::string good = content_of(song_);
  // Within all limits, but another.
  fs::copy_file(out_ + "/songs/02-made-up-2.burst", song_, fs::copy_options::overwrite_existing);
  const Words set_again = {"01-made-up-1.burst", "judged", "build the set again"};
  expect_refusal({"export", out_, "--to", "header", "--target", "rp2040", "--out", folder_ / "o.h"}, 3,
                 set_again);
  expect_refusal({"check", out_ + "/songs/02-made-up-2.burst", "--set", out_}, 3, set_again);
  expect_refusal({"send", out_, "--device", "/dev/null"}, 3, set_again);
  fs::remove(song_);
  expect_refusal({"export", out_, "--to", "header", "--target", "rp2040", "--out", folder_ / "o.h"}, 3,
                 {"01-made-up-1.burst"});
  folder_.write("evening/songs/01-made-up-1.burst", good);
  EXPECT_EQ(run({"export", out_, "--to", "header", "--target", "rp2040", "--out", folder_ / "o.h"}).code, 0);
}

TEST_F(OverwriteSet, APlanIsReplacedOnlyWhenAsked) {
  const Words words = {"set", evening_.set_file(), "--plan", "--out-plan", folder_ / "plan.toml"};
  folder_.write("plan.toml", "mine");
  expect_refused(words, folder_ / "plan.toml", "is there already");
  EXPECT_EQ(run(with(words, "--force")).code, 0);
  EXPECT_NE(content_of(folder_ / "plan.toml"), "mine");
  const std::string set = content_of(evening_.set_file());
  expect_refusal({"set", evening_.set_file(), "--plan", "--out-plan", evening_.set_file(), "--force"}, 2,
                 {"would be replaced"});
  EXPECT_EQ(content_of(evening_.set_file()), set);
}

}  // namespace
}  // namespace burstloom::testing
