// bench_captures BURSTLOOM COIL [EDGES]: an evening of an hour and 10 million edges (if not given otherwise),
// made up with drift, jitter, missing bursts and a song that is stopped midway, captured as CSV and VCD: how
// fast it is read, judged and aligned, beside plain reading of the same file in the same run, and how much
// memory the command takes. docs/reference/captures.md has the figures.
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <functional>

#include "burstloom/check/align.hpp"
#include "burstloom/check/judge.hpp"
#include "burstloom/common/file_blocks.hpp"
#include "burstloom/stream/blocks.hpp"
#include "burstloom/stream/files.hpp"
#include "measured_child.hpp"
#include "support/evening.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kSongs = 20;

using testing::Performance;

std::string song_path(const std::string& folder, std::size_t song) {
  return folder + "/songs/" + std::to_string(10 + song) + "-made-up.burst";
}

// In a process of its own, so that what it takes is not counted with what is measured.
void make(const std::string& folder, double edges) {
  std::filesystem::create_directories(folder + "/songs");
  std::vector<BurstStream> songs;
  const double seconds = 3500.0 / kSongs * edges / 1e7;
  for (std::size_t i = 0; i < kSongs; ++i) {
    songs.push_back(testing::made_up_song(i, seconds, 7));
    write_file(song_path(folder, i), to_burst_file({songs.back(), "", "", {}}));
  }
  std::vector<Performance> how;
  for (std::size_t i = 0; i < kSongs; ++i)
    how.push_back(
        {.song = i, .pause_s = 5, .ratio = 1 + 1e-4 * static_cast<double>(i), .jitter_us = 1, .lost = 0.001});
  how[7].until = songs[7].bursts.size() / 2;
  std::FILE* const csv = std::fopen((folder + "/evening.csv").c_str(), "w");
  std::FILE* const vcd = std::fopen((folder + "/evening.vcd").c_str(), "w");
  std::fputs("# tick_hz=10000000\nstart_us,on_us\n", csv);
  std::fputs("$timescale 100 ns $end\n$var wire 1 ! gate $end\n$enddefinitions $end\n#0\n0!\n", vcd);
  std::int64_t bursts = 0;
  const auto truth = testing::perform(songs, how, 1, [&](Burst it) {
    const auto start = static_cast<long long>(it.start), on = static_cast<long long>(it.on);
    std::fprintf(csv, "%lld.%lld,%lld.%lld\n", start / 10, start % 10, on / 10, on % 10);
    std::fprintf(vcd, "#%lld\n1!\n#%lld\n0!\n", start, start + on);
    ++bursts;
  });
  std::fclose(csv);
  std::fclose(vcd);
  std::printf(
      "%lld edges in %.0f s, %zu songs, one stopped midway, the others with a burst in a thousand missing\n",
      static_cast<long long>(2 * bursts), truth.back().end_s, kSongs);
}

struct Nothing : BurstSink {
  void begin(const StreamHead&) override {}
  void take(std::span<const Burst> block) override { bursts += block.size(); }
  std::size_t bursts = 0;
};

struct Judging : Nothing {
  explicit Judging(const Profile& its_profile) : profile(its_profile) {}
  void begin(const StreamHead& head) override { judge.emplace(profile, head.tick_hz, JudgeOptions{}); }
  void take(std::span<const Burst> block) override { judge->take(block); }
  const Profile& profile;
  std::optional<RunningJudge> judge;
};

struct Aligning : Nothing {
  explicit Aligning(const std::string& folder) : aligner(0.1) {
    for (std::size_t i = 0; i < kSongs; ++i)
      aligner.add_song(read_stream(song_path(folder, i), {}).file.stream);
  }
  void begin(const StreamHead& head) override { aligner.begin(head.tick_hz); }
  void take(std::span<const Burst> block) override { aligner.take(block); }
  Aligner aligner;
};

double cpu_s() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  };
  return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

// The best of three, in processor time: others use this machine, too.
void measure(const std::string& name, double edges, const std::function<void()>& work) {
  double best_s = 1e300;
  for (int round = 0; round < 3; ++round) {
    const double before_s = cpu_s();
    work();
    best_s = std::min(best_s, cpu_s() - before_s);
  }
  std::printf("| %s | %.3f s | %.1f | %.1f |\n", name.c_str(), best_s, edges / best_s / 1e6,
              best_s * 2e9 / edges);
  std::fflush(stdout);
}

void measure_file(const std::string& folder, const std::string& file, const Profile& profile, double edges) {
  const std::string path = folder + "/" + file, kind = file.substr(file.size() - 3);
  measure(kind + ": read(), nothing else", edges, [&] {
    FileBlocks blocks(path);
    while (!blocks.next([](char c) { return c == '\n'; }).empty()) {
    }
  });
  measure(kind + ": line ends counted by memchr, as wc -l does", edges, [&] {
    FileBlocks blocks(path);
    std::size_t lines = 0;
    for (std::string_view text; !(text = blocks.next([](char c) { return c == '\n'; })).empty();)
      for (std::size_t at = 0; (at = text.find('\n', at)) != std::string_view::npos; ++at) ++lines;
    if (lines == 0) std::abort();
  });
  measure(kind + ": read_in_blocks", edges, [&] {
    Nothing nothing;
    (void)read_in_blocks(path, {}, nothing);
  });
  measure(kind + ": and judged", edges, [&] {
    Judging judging(profile);
    const StreamTail tail = read_in_blocks(path, {}, judging);
    (void)judging.judge->finish(tail.length, false);
  });
  measure(kind + ": read and aligned", edges, [&] {
    Aligning aligning(folder);
    (void)read_in_blocks(path, {}, aligning);
    if (aligning.aligner.finish().playings.size() != kSongs) std::printf("not aligned as it was played\n");
  });
}

void run_command(const std::string& name, double edges, std::vector<std::string> words) {
  const bench::Taken taken = bench::run_measured(std::move(words));
  const bool done = taken.code == 0 || taken.code == 1;  // what is captured may be outside its limits
  std::printf("| %s | %.3f s | %.1f | peak memory %.0f MB |%s\n", name.c_str(), taken.processor_s,
              edges / taken.processor_s / 1e6, taken.peak_mb, done ? "" : " failed");
  std::fflush(stdout);
}

std::vector<std::string> check_words(const char* burstloom, const char* coil, const std::string& folder,
                                     const char* file) {
  std::vector<std::string> all = {burstloom, "check", folder + file, "--coil", coil, "--json"};
  for (std::size_t song = 0; song < kSongs; ++song) {
    all.emplace_back("--played");
    all.push_back(song_path(folder, song));
  }
  return all;
}

int run(int count, char** words) {
  if (count < 3) return std::fprintf(stderr, "bench_captures BURSTLOOM COIL [EDGES]\n"), 2;
  const double edges = count > 3 ? std::atof(words[3]) : 1e7;
  const std::string folder = (std::filesystem::temp_directory_path() / "burstloom-bench-captures").string();
  if (const pid_t maker = fork(); maker == 0) {
    make(folder, edges);
    std::fflush(stdout);
    _exit(0);
  } else {
    waitpid(maker, nullptr, 0);
  }
  std::printf("| | processor time | million edges/s | ns a burst |\n|---|---|---|---|\n");
  std::fflush(stdout);
  for (const char* file : {"/evening.csv", "/evening.vcd"})
    run_command(std::string("burstloom check --played, ") + (file + 9), edges,
                check_words(words[1], words[2], folder, file));
  const Profile profile = read_profile(words[2]);
  measure_file(folder, "evening.csv", profile, edges);
  measure_file(folder, "evening.vcd", profile, edges);
  std::filesystem::remove_all(folder);
  return 0;
}

}  // namespace
}  // namespace burstloom

int main(int count, char** words) {
  return burstloom::run(count, words);
}
