// A run that is killed at any moment leaves whole files only, and the next goes on from there.
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <random>
#include <thread>

#include "support.hpp"

namespace burstloom::testing {
namespace {

using Seconds = std::chrono::duration<double>;

// Builds in a process of its own and kills it after so long; says whether it was done before.
bool built_before_killed(const SetFile& set, const BuildOptions& options, Seconds after) {
  const pid_t child = ::fork();
  if (child == 0) {
    try {
      (void)build_set(set, options);
      ::_exit(0);
    } catch (...) {
      ::_exit(3);
    }
  }
  std::this_thread::sleep_for(after);
  ::kill(child, SIGKILL);
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_FALSE(WIFEXITED(status) && WEXITSTATUS(status) != 0) << "the run failed by itself";
  return WIFEXITED(status);
}

bool is_temporary(const std::string& path) {
  return path.find(".part") != std::string::npos;
}

TEST_F(Sets, KilledFiftyTimesNothingIsLostOrHalfWritten) {
  use_warm_mosfets("29.0");  // some songs are woven twice
  for (unsigned i = 1; i <= 8; ++i) evening_.add_made_up(i, 3, 2, 1);
  const SetFile set = read_set(evening_.set_file());
  BuildOptions options{.jobs = 2, .folder = out() + "-whole"};
  options.seek_rest = false;
  options.preview = [](const BurstFile& song, const Profile&) {
    return std::string(200'000, 'x') + song.title;
  };
  const auto began = std::chrono::steady_clock::now();
  (void)build_set(set, options);
  const Seconds whole_s = std::chrono::steady_clock::now() - began;
  const auto whole = all_files(options.folder);

  options.folder = out();
  std::mt19937 random(20261126);
  int killed = 0, done = 0;
  for (int time = 0; killed < 50 && time < 500; ++time) {
    const double part = static_cast<double>(random()) / static_cast<double>(random.max());
    const auto before = fs::exists(out()) ? all_files(out()) : std::map<std::string, std::string>{};
    if (!built_before_killed(set, options, whole_s * part * 0.5)) {
      ++killed;
    } else {
      ++done;
      EXPECT_TRUE(all_files(out()) == whole);
      fs::remove_all(out());
      continue;
    }
    const auto after = fs::exists(out()) ? all_files(out()) : std::map<std::string, std::string>{};
    for (const auto& [path, content] : after) {
      if (is_temporary(path) || path == ".burstloom/made.json" || path == ".burstloom/lock") continue;
      EXPECT_TRUE(whole.count(path) == 1 && content == whole.at(path)) << path << " is half-written";
    }
    for (const auto& [path, content] : before)
      EXPECT_TRUE(is_temporary(path) || after.count(path) == 1) << path << " was lost";
  }
  EXPECT_EQ(killed, 50);
  (void)build_set(set, options);
  EXPECT_TRUE(all_files(out()) == whole) << "not what an uninterrupted run makes";
  RecordProperty("runs_done_between", done);
}

// Edit, break off, take the edit back: no file of the edit may stay beside the set.json of before.
TEST_F(Sets, AnEditThatWasBrokenOffAndTakenBackLeavesNothing) {
  use_coil("bench-36v");
  for (unsigned i = 1; i <= 3; ++i) evening_.add_made_up(i, 2, 2, 1);
  const std::string song = folder_ + "/made-up-2.mid", as_it_was = text_of_file(song);
  BuildOptions options{.folder = out()};
  bool breaks_off = false;
  options.pages = {{"evening.html", "", [&](const BuiltSet& set) {
                      if (breaks_off) throw std::runtime_error("broken off");
                      return set.name;
                    }}};
  (void)build(options);
  const std::string whole = text_of_file(out() + "/songs/02-made-up-2.burst"),
                    set = text_of_file(out() + "/set.json");
  write_bytes(song, to_midi(made_up_song(7, 2, 2)));
  breaks_off = true;
  EXPECT_THROW((void)build(options), std::runtime_error);
  EXPECT_NE(text_of_file(out() + "/songs/02-made-up-2.burst"), whole) << "this tests nothing";
  std::ofstream(song, std::ios::binary) << as_it_was;
  breaks_off = false;
  (void)build(options);
  EXPECT_EQ(text_of_file(out() + "/songs/02-made-up-2.burst"), whole);
  EXPECT_EQ(text_of_file(out() + "/set.json"), set);
}

}  // namespace
}  // namespace burstloom::testing
