// A set's folder from a stranger, or one in which its user works: nothing of anybody else's is touched.
#include <unistd.h>

#include <nlohmann/json.hpp>

#include "burstloom/common/content_hash.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

using Texts = std::map<std::string, std::string>;

class Strangers : public Sets {
 protected:
  Strangers() {
    use_coil("bench-36v");
    for (unsigned i = 1; i <= 2; ++i) evening_.add_made_up(i, 2, 1, 3);
    fs::create_directories(home_);
    write(home_ + "/diary.txt", "mine");
    write(home_ + "/0123456789abcdef0123456789abcdef.json", "mine");
    write(home_ + "/tune.burst.part7", "mine");
    at_home_ = all_files(home_);
  }

  static void write(const std::string& path, const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
  }
  /// Another first song, so that there is something to write.
  void change_a_song() { write_bytes(folder_ + "/made-up-1.mid", to_midi(made_up_song(9, 2, 1))); }

  void expect_refused(const std::string& word) {
    (void)evening_.set_file();  // writes it
    const Texts before = all_files(folder_);
    try {
      (void)build({.folder = out()});
      ADD_FAILURE() << "not refused";
    } catch (const Error& error) {
      EXPECT_EQ(error.fault(), Fault::usage) << error.what();
      EXPECT_NE(std::string(error.what()).find(word), std::string::npos) << error.what();
    }
    Texts after = all_files(folder_);
    for (const char* ours : {"out/.burstloom/lock", "out/.burstloom/made.json"}) after.erase(ours);
    for (const auto& [path, text] : after)
      EXPECT_TRUE(before.count(path) == 1 ? before.at(path) == text : path.starts_with("out/.burstloom/"))
          << path;
    EXPECT_TRUE(all_files(home_) == at_home_);
  }

  std::string home_ = folder_ + "/home";
  Texts at_home_;
};

// Seen: every file of the linked folder was deleted, and the exit code was 0.
TEST_F(Strangers, NoFolderOfASetIsALinkToAnother) {
  for (const char* part : {"songs", ".burstloom", ""})
    for (const std::string& to : {home_, folder_ + "/nowhere"})
      for (const bool built_before : {false, true}) {
        SCOPED_TRACE(part + (" -> " + to));
        fs::remove_all(out());
        if (built_before) (void)build({.folder = out()});
        const fs::path link = *part == 0 ? out() : out() + "/" + part;
        fs::create_directories(link.parent_path());
        fs::remove_all(link);
        fs::create_directory_symlink(to, link);
        expect_refused("symbolic link");
        EXPECT_FALSE(fs::exists(folder_ + "/nowhere"));
        fs::remove(link);
      }
}

TEST_F(Strangers, NoFileIsWrittenThroughALink) {
  for (const char* path : {"songs/01-made-up-1.burst", "set.json", ".burstloom/lock", ".burstloom/made.json"})
    for (const std::string& to : {home_ + "/diary.txt", folder_ + "/nowhere"}) {
      SCOPED_TRACE(path + (" -> " + to));
      fs::remove_all(out());
      (void)build({.folder = out()});
      fs::remove(out() + "/" + path);
      fs::create_symlink(to, out() + "/" + path);
      expect_refused(path);
      EXPECT_FALSE(fs::exists(folder_ + "/nowhere"));
      EXPECT_TRUE(fs::is_symlink(out() + "/" + path)) << "replaced";
    }
}

TEST_F(Strangers, AListOfForeignFilesDeletesNone) {
  (void)build({.folder = out()});
  fs::create_directory_symlink(home_, out() + "/.burstloom/sub");
  fs::create_symlink(home_ + "/diary.txt", out() + "/.burstloom/link");
  auto list = nlohmann::json::parse(text_of_file(out() + "/.burstloom/made.json"));
  const std::string hash = content_hash("mine");
  for (const std::string& path :
       {home_ + "/diary.txt", std::string("../home/diary.txt"),
        std::string(".burstloom/../../home/diary.txt"), std::string(".burstloom/sub/diary.txt"),
        std::string(".burstloom/link"), std::string(".burstloom/.."), std::string(".burstloom/sub"),
        std::string(".burstloom/"), std::string(".burstloom/lock")})
    list[path] = {"", hash, hash};
  write(out() + "/.burstloom/lock", "mine");
  write(out() + "/.burstloom/made.json", list.dump());
  change_a_song();
  (void)build({.folder = out()});
  EXPECT_TRUE(all_files(home_) == at_home_);
  EXPECT_TRUE(fs::is_symlink(out() + "/.burstloom/sub"));
  EXPECT_TRUE(fs::exists(out() + "/.burstloom/lock"));
}

TEST_F(Strangers, OnlyWhatARunMadeIsRemoved) {
  (void)build({.folder = out()});
  const Texts mine = {{".burstloom/notes.txt", "mine"},
                      {".burstloom/0123456789abcdef0123456789abcdef.json", "mine"},
                      {".burstloom/old.json.part12", "mine"},
                      {"songs/diary.burst.part7", "mine"},
                      {"letter.html.part8", "mine"}};
  for (const auto& [path, text] : mine) write(out() + "/" + path, text);
  const Texts built = all_files(out());
  change_a_song();
  (void)build({.folder = out()});
  const Texts after = all_files(out());
  for (const auto& [path, text] : mine) EXPECT_EQ(after.count(path), 1U) << path << " was removed";
  EXPECT_GT(
      std::count_if(built.begin(), built.end(), [&](const auto& it) { return after.count(it.first) == 0; }),
      0)
      << "what the song before left is kept for nothing";
}

TEST_F(Strangers, AFileThatWasEditedIsNotReplaced) {
  for (const char* path : {"songs/01-made-up-1.burst", "set.json"}) {
    SCOPED_TRACE(path);
    fs::remove_all(out());
    (void)build({.folder = out()});
    write(out() + "/" + path, "mine");
    change_a_song();
    expect_refused(path);
    EXPECT_EQ(text_of_file(out() + "/" + path), "mine");
  }
}

TEST_F(Strangers, AnotherNameOfAFileKeepsItsContent) {
  (void)build({.folder = out()});
  const std::string song = out() + "/songs/01-made-up-1.burst", before = text_of_file(song);
  fs::create_hard_link(song, folder_ + "/kept.burst");
  change_a_song();
  (void)build({.folder = out()});
  EXPECT_NE(text_of_file(song), before);
  EXPECT_EQ(text_of_file(folder_ + "/kept.burst"), before);
  fs::remove(song);
  fs::create_hard_link(home_ + "/diary.txt", song);
  expect_refused("songs/01-made-up-1.burst");
}

TEST_F(Strangers, AFolderOfSomebodyElseIsNoPlaceForASet) {
  fs::create_directory(out());
  write(out() + "/README", "mine");
  expect_refused("README");
  EXPECT_EQ(all_files(out()).size(), 1U);
}

// The list names the new stream, as a careful stranger would have it.
TEST_F(Strangers, AStreamThatWasReplacedIsJudgedAgain) {
  (void)build({.folder = out()});
  const std::string kept = out() + "/.burstloom/";
  auto list = nlohmann::json::parse(text_of_file(kept + "made.json"));
  int replaced = 0;
  for (const auto& entry : fs::directory_iterator(kept)) {
    if (entry.path().extension() != ".burst") continue;
    BurstFile file = from_burst_file(read_file(entry.path().string()), "kept");
    file.account = {};
    file.stream.bursts = {{0, 1000}, {1001, 1000}};
    const Bytes bytes = to_burst_file(file);
    write_bytes(entry.path().string(), bytes);
    list[".burstloom/" + entry.path().filename().string()] = {"", content_hash(bytes)};
    ++replaced;
  }
  ASSERT_EQ(replaced, 2);
  write(kept + "made.json", list.dump());
  fs::remove(out() + "/set.json");
  EXPECT_THROW((void)build({.folder = out()}), Error) << "the verdict of before was taken";
}

TEST_F(Strangers, AVerdictIsThatOfTheStreamsBytes) {
  const SetBuild built = build({.folder = out()});
  for (const BuiltSong& song : built.set.songs)
    EXPECT_EQ(
        nlohmann::json::parse(to_set_json(built.set))["songs"][static_cast<std::size_t>(song.number) - 1]
            .value("stream_hash", ""),
        content_hash(text_of_file(out() + "/" + song.burst_file)));
}

}  // namespace
}  // namespace burstloom::testing
