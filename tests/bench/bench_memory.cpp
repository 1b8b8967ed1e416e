// bench_memory BURSTLOOM COIL: peak memory and CPU time of `song` and `weave` on generated recordings (FLAC,
// 44.1 kHz, stereo) of 1 minute, 10 minutes and 1 hour; docs/reference/listening.md has the figures.
#include <sndfile.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <numbers>
#include <string>
#include <vector>

#include "measured_child.hpp"

namespace {

constexpr int kRate_hz = 44'100;

// A chord of two, a melody and a bright hit, anew every 0.4 s; one step in nine is silent.
float sample_at(double t) {
  const int step = static_cast<int>(t / 0.4);
  if (step % 9 == 8) return 0;
  const double since_s = t - 0.4 * step, decay = std::exp(-2 * since_s);
  double sum = 0.3 * std::exp(-since_s / 0.01) * (2.0 * std::rand() / RAND_MAX - 1);
  for (const int key : {48 + step / 4 % 3 * 2, 55 + step / 4 % 3 * 2, 67 + step * 5 % 12}) {
    const double phase = 2 * std::numbers::pi * 440 * std::exp2((key - 69) / 12.0) * t;
    sum += decay * (std::sin(phase) + std::sin(2 * phase) / 2 + std::sin(3 * phase) / 3);
  }
  return static_cast<float>(0.1 * sum);
}

void write_recording(const std::string& path, int minutes) {
  SF_INFO info{};
  info.samplerate = kRate_hz;
  info.channels = 2;
  info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  std::vector<float> minute(2 * 60 * kRate_hz);
  for (std::size_t i = 0; i < minute.size() / 2; ++i)
    minute[2 * i] = minute[2 * i + 1] = sample_at(static_cast<double>(i) / kRate_hz);
  for (int m = 0; m < minutes; ++m) sf_writef_float(file, minute.data(), 60 * kRate_hz);
  sf_close(file);
}

void measure(const std::string& name, std::vector<std::string> words) {
  const burstloom::bench::Taken taken = burstloom::bench::run_measured(std::move(words));
  std::printf("| %s | %.0f MB | %.0f s |%s\n", name.c_str(), taken.peak_mb, taken.processor_s,
              taken.code == 0 ? "" : " failed");
  std::fflush(stdout);
}

}  // namespace

int main(int count, char** words) {
  if (count != 3) return std::fprintf(stderr, "bench_memory BURSTLOOM COIL\n"), 2;
  const std::string folder = (std::filesystem::temp_directory_path() / "burstloom-bench-memory").string();
  std::filesystem::create_directory(folder);
  const std::string song = folder + "/song.flac", out = folder + "/song.burst", score = folder + "/song.mid";
  std::printf("| | peak memory | CPU time |\n|---|---|---|\n");
  for (const int minutes : {1, 10, 60}) {
    write_recording(song, minutes);
    const std::string length = std::to_string(minutes) + " min";
    measure("`song`, " + length, {words[1], "song", song});
    measure("`song --score`, " + length, {words[1], "song", song, "--score", score});
    measure("`weave` of that score, " + length, {words[1], "weave", score, "--coil", words[2], "--out", out});
    measure("`weave`, " + length, {words[1], "weave", song, "--coil", words[2], "--out", out});
  }
  std::filesystem::remove_all(folder);
}
