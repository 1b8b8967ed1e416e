// A folder, a command in it, and the bundled files.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "support/run_command.hpp"

namespace burstloom::testing {

inline const std::string kSong = BURSTLOOM_SAMPLES "/quayside-lanterns.mid";
inline const std::string kSound = BURSTLOOM_SAMPLES "/ferry-call.flac";
inline const std::string kCoil = BURSTLOOM_SAMPLES "/coils/bench-36v.toml";

class Command : public ::testing::Test {
 protected:
  Ran run(std::vector<std::string> words) {
    const OwnConfiguration own(no_configuration_ ? "" : configuration_.path());
    return run_command(folder_, std::move(words));
  }

  /// The answer of a command with --json; standard output must hold nothing else.
  nlohmann::json json(std::vector<std::string> words, int code = 0) {
    words.emplace_back("--json");
    const Ran ran = run(std::move(words));
    EXPECT_EQ(ran.code, code) << ran.out << ran.err;
    EXPECT_EQ(ran.err, "");
    return nlohmann::json::parse(ran.out);
  }

  /// That it is refused with this code, in one sentence on standard error that holds `words_in_it`.
  void expect_refusal(std::vector<std::string> words, int code, std::vector<std::string> words_in_it) {
    const auto before = folder_.names();
    const Ran ran = run(words);
    EXPECT_EQ(ran.code, code) << ran.err;
    EXPECT_EQ(ran.out, "");
    EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << ran.err;
    EXPECT_TRUE(ran.err.starts_with("burstloom: ")) << ran.err;
    for (const std::string& it : words_in_it)
      EXPECT_NE(ran.err.find(it), std::string::npos) << it << " in: " << ran.err;
    EXPECT_EQ(folder_.names(), before) << "a file was left behind";
    // The same under --json, as an object.
    words.emplace_back("--json");
    const Ran as_json = run(words);
    EXPECT_EQ(as_json.code, code);
    const auto error = nlohmann::json::parse(as_json.out)["error"];
    for (const char* key : {"what", "where", "do"}) EXPECT_TRUE(error[key].is_string()) << key;
  }

  std::string woven(const std::string& song = kSong) {
    const std::string out = folder_ / "woven.burst";
    const Ran ran = run({"weave", song, "--coil", kCoil, "--out", out});
    EXPECT_EQ(ran.code, 0) << ran.err;
    return out;
  }

  Folder folder_, configuration_;
  bool no_configuration_ = false;
};

}  // namespace burstloom::testing
