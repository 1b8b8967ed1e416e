// SET.toml: what it may say, and what it is told when it says something else.
#include "burstloom/sets/set_file.hpp"
#include "burstloom/common/error.hpp"

#include <gtest/gtest.h>

namespace burstloom::testing {
namespace {

const std::string kTop = "coil = \"c.toml\"\n";
const std::string kSongs = "[[song]]\nfile = \"a.mid\"\n";

TEST(SetFile, ReadsAllThatItMaySay) {
  const SetFile set = parse_set(R"(name = "Lantern night"
coil = "coils/tern.toml"
start_c = 31.5
pause_s = 20
[[song]]
file = "a.mid"
title = "First"
arrangement = "a.toml"
transpose = -12
gain_db = -3.5
voices = 2
pause_s = 45.5
[[song]]
file = "b.flac"
how = "carrier"
carrier_hz = 9000
snap = 4
keep_silence = true
)",
                                "set.toml", "evenings");
  EXPECT_EQ(set.name, "Lantern night");
  EXPECT_EQ(set.path_of(set.coil), "evenings/coils/tern.toml");
  EXPECT_EQ(set.start_c, 31.5);
  ASSERT_EQ(set.songs.size(), 2U);
  const SetSong& first = set.songs[0];
  EXPECT_EQ(first.file, "a.mid");
  EXPECT_EQ(first.title, "First");
  EXPECT_EQ(first.arrangement, "a.toml");
  EXPECT_EQ(first.transpose, -12);
  EXPECT_EQ(first.gain_db, -3.5);
  EXPECT_EQ(first.voices, 2);
  EXPECT_EQ(set.pause_after_s(0), 45.5);
  const SetSong& second = set.songs[1];
  EXPECT_EQ(second.how, "carrier");
  EXPECT_EQ(second.carrier_hz, 9000);
  EXPECT_EQ(second.snap, 4);
  EXPECT_TRUE(second.keep_silence);
  EXPECT_EQ(set.pause_after_s(1), 20);
}

TEST(SetFile, WrittenOutItIsTheSameSet) {
  SetFile set = parse_set(
      kTop + "start_c = 30.25\npause_s = 7.5\n" + kSongs +
          "title = \"\\\"Quoted\\\" and ü\"\ngain_db = -1.1\n[[song]]\nfile = \"b.mid\"\nvoices = 2\n",
      "set.toml", "");
  const SetFile again = parse_set(to_toml(set, "a note"), "again.toml", "");
  EXPECT_EQ(again.coil, set.coil);
  EXPECT_EQ(again.start_c, set.start_c);
  for (SetSong& song : set.songs) song.pause_s = song.pause_s.value_or(set.pause_s);
  EXPECT_EQ(again.songs, set.songs);
}

struct Refused {
  std::string text;
  std::vector<std::string> words;
};

TEST(SetFile, WhatIsWrongIsToldWithItsLine) {
  std::string deep;
  for (int i = 0; i < 100'000; ++i) deep += "a.";
  const std::vector<Refused> all = {
      {kTop + "pauses = 3\n" + kSongs, {"line 2", "pauses", "pause_s"}},
      {kTop + kSongs + "gain = 3\n", {"line 4", "gain", "gain_db"}},
      {kTop + kSongs + "gain_db = 21\n", {"line 4", "gain_db", "-40 to 20"}},
      {kTop + kSongs + "pause_s = -1\n", {"line 4", "pause_s is -1"}},
      {kTop + kSongs + "voices = 2.5\n", {"line 4", "whole number"}},
      {kTop + "[[song]]\npause_s = 1\n", {"line 2", "file"}},
      {kTop + "start_c = \"cold\"\n" + kSongs, {"line 2", "start_c", "-60 to 300"}},
      {kTop, {"0 songs", "[[song]]"}},
      {kSongs, {"does not say which coil"}},
      {kTop + "[song]\nfile = \"a.mid\"\n", {"line 2", "[[song]]"}},
      {kTop + "name = \n", {"line 2", "TOML"}},
      {kTop + kSongs + deep + "a = 1\n", {"line 4", "more than 8 dots"}},
      {kTop + "a = " + std::string(100'000, '{'), {"line 2", "more than 16 brackets"}},
      {kTop + "name = \"a\u202Eb\"\n" + kSongs, {"line 2", "invisible"}},
      {std::string((1 << 20) + 1, '#'), {"1048577 bytes"}},
  };
  for (const auto& [text, words] : all) {
    try {
      (void)parse_set(text, "set.toml", "");
      ADD_FAILURE() << "accepted: " << text;
    } catch (const Error& error) {
      EXPECT_EQ(error.fault(), Fault::bad_input);
      for (const std::string& word : words)
        EXPECT_NE(std::string(error.what()).find(word), std::string::npos) << word << " in: " << error.what();
    }
  }
}

TEST(SetFile, ASetHasAtMostAHundredSongs) {
  std::string text = kTop;
  for (int i = 0; i < 100; ++i) text += kSongs;
  EXPECT_EQ(parse_set(text, "s", "").songs.size(), 100U);
  EXPECT_THROW((void)parse_set(text + kSongs, "s", ""), Error);
}

}  // namespace
}  // namespace burstloom::testing
