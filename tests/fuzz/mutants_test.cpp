// 3 500 mutated files, each through the command that reads it. To replay one: BURSTLOOM_MUTANT=number in the
// environment writes that mutant to /tmp and runs it alone.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <random>

#include "burstloom/common/files.hpp"
#include "support/leaks_of_others.hpp"
#include "support/run_command.hpp"

namespace burstloom::testing {
namespace {

constexpr int kMutants = 700;  // of each kind of file
#ifdef BURSTLOOM_SANITIZED
constexpr double kLongest_s = 10;  // sanitizers cost about ten times
#else
constexpr double kLongest_s = 1;
#endif

const std::string kSong = BURSTLOOM_SAMPLES "/quayside-lanterns.mid";
const std::string kCoil = BURSTLOOM_SAMPLES "/coils/bench-36v.toml";

double cpu_seconds() {
  std::timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

// Damages a file: bits, bytes, pieces, and numbers replaced by extreme ones.
class Mutator {
 public:
  explicit Mutator(unsigned seed) : dice_(seed) {}

  std::string operator()(std::string text) {
    for (std::size_t i = 1 + below(5); i > 0 && !text.empty(); --i) damage(text);
    return text;
  }

 private:
  std::size_t below(std::size_t limit) { return limit == 0 ? 0 : dice_() % limit; }

  void damage(std::string& text) {
    const std::size_t at = below(text.size()), some = 1 + below(40);
    switch (below(8)) {
      case 0:
        text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
        break;
      case 1:
        text[at] = static_cast<char>(below(256));
        break;
      case 2:
        text.erase(at, some);
        break;
      case 3:
        text.insert(at, text.substr(below(text.size()), some));
        break;
      case 4:
        text.resize(at);
        break;
      case 5:
        text.insert(at, 1, static_cast<char>(below(256)));
        break;
      case 6:
        replace_bytes(text, at);
        break;
      default:
        replace_number(text, at);
        break;
    }
  }

  void replace_bytes(std::string& text, std::size_t at) {
    const char extremes[] = {'\0', '\x7F', '\x80', '\xFF'};
    for (std::size_t i = at; i < std::min(text.size(), at + 1 + below(4)); ++i) text[i] = extremes[below(4)];
  }

  void replace_number(std::string& text, std::size_t at) {
    const char* const extremes[] = {"0",      "-1",  "1e308",       "-1e308",
                                    "1e-300", "nan", "inf",         "9223372036854775807",
                                    "0.1",    "1e9", "1e15",        "18446744073709551616",
                                    "",       "\"",  "999999999999"};
    at = text.find_first_of("0123456789", at);
    if (at == std::string::npos) return;
    const std::size_t end = std::min(text.size(), text.find_first_not_of("0123456789.", at));
    text.replace(at, end - at, extremes[below(std::size(extremes))]);
  }

  std::mt19937 dice_;
};

// Gives a damaged .burst file the checksum of what it holds now, so that a reader has to look further.
std::string sealed(std::string text) {
  if (text.size() < 12) return text;
  const std::string_view content = std::string_view(text).substr(0, text.size() - 12);
  const std::uint32_t sum = crc32({reinterpret_cast<const std::uint8_t*>(content.data()), content.size()});
  text.replace(content.size(), 8, std::string("CRC3\4\0\0\0", 8));
  for (int i = 0; i < 4; ++i)
    text[content.size() + 8 + static_cast<std::size_t>(i)] = static_cast<char>(sum >> (8 * i));
  return text;
}

// A proper result, or one sentence and nothing left behind.
// Returns the processor's seconds that it took.
double expect_sound(const Folder& folder, const std::string& id, const std::vector<std::string>& words,
                    const std::vector<std::string>& files_before) {
  const double start = cpu_seconds();
  const Ran ran = run_command(folder, words);
  const double took = cpu_seconds() - start;
  EXPECT_LT(took, kLongest_s) << id;
  if (ran.code == 0 || (ran.code == 1 && ran.err.empty())) {
    EXPECT_FALSE(ran.out.empty()) << id;
    return took;
  }
  // 1: sound, but outside the limits; 3: a bad file. 2: sound, but it asks for what cannot be (a wire, a
  // coil).
  EXPECT_TRUE(ran.code == 3 || ran.code == 1 || ran.code == 2) << id << ": " << ran.code << " " << ran.err;
  EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << id << ": " << ran.err;
  EXPECT_TRUE(ran.err.starts_with("burstloom: ")) << id << ": " << ran.err;
  EXPECT_EQ(ran.err.find("unforeseen"), std::string::npos) << id << ": " << ran.err;
  EXPECT_EQ(folder.names(), files_before) << id;
  return took;
}

class Mutants : public ::testing::Test {
 protected:
  using Words = std::vector<std::string>;

  /// `words_for(file)` is the command; several seeds take turns.
  template <class WordsFor>
  void run(
      const std::string& ending, const std::vector<std::string>& seeds, WordsFor words_for,
      std::string (*finish)(std::string) = [](std::string text) { return text; }) {
    const char* only = std::getenv("BURSTLOOM_MUTANT");
    double slowest_s = 0;
    for (int i = 0; i < kMutants; ++i) {
      if (only != nullptr && std::atoi(only) != i) continue;
      const std::string text =
          finish(Mutator(static_cast<unsigned>(i))(seeds[static_cast<std::size_t>(i) % seeds.size()]));
      const std::string file = folder_.write("mutant" + ending, text);
      if (only != nullptr) std::ofstream("/tmp/mutant" + ending, std::ios::binary) << text;
      std::filesystem::remove(folder_ / "out");
      slowest_s = std::max(slowest_s, expect_sound(folder_, ending + " mutant " + std::to_string(i),
                                                   words_for(file), folder_.names()));
    }
    std::printf("%d mutants of %s, the slowest %.3f s of processor time\n", kMutants, ending.c_str(),
                slowest_s);
  }

  std::string stream(const std::string& format, const std::string& until = "0.4") {
    const std::string burst = folder_ / "seed.burst", out = folder_ / ("seed." + format);
    EXPECT_EQ(run_command(folder_, {"weave", kSong, "--coil", kCoil, "--out", burst}).code, 0);
    EXPECT_EQ(run_command(folder_, {"export", burst, "--to", format, "--until", until, "--out", out}).code,
              0);
    const std::string text = content_of(out);
    std::filesystem::remove(burst);
    std::filesystem::remove(out);
    return text;
  }
  // A short .burst: an excerpt by way of CSV would lose the profile, so the song itself is short.
  std::string burst() {
    const std::string midi("MThd\0\0\0\6\0\0\0\1\0\x60MTrk\0\0\0\x0C\0\x90\x45\x7F\x60\x80\x45\0\0\xFF\x2F\0",
                           34);
    const std::string song = folder_.write("seed.mid", midi), out = folder_ / "seed.burst";
    EXPECT_EQ(run_command(folder_, {"weave", song, "--coil", kCoil, "--out", out}).code, 0);
    const std::string text = content_of(out);
    std::filesystem::remove(song);
    std::filesystem::remove(out);
    return text;
  }

  Folder folder_;
};

TEST_F(Mutants, OfMidiFiles) {
  // Limits alone: a song that a mutation has made hours long need not be followed in heat as well.
  const std::string coil =
      folder_.write("light.toml",
                    "name = \"light\"\n[limits]\non_time_us = { min = 4, max = 40 }\ngap_us = 120\n"
                    "duty = [ { window_ms = 10, percent = 10 } ]\n");
  // The head of the bundled song, so that a mutation is likely to matter, and the whole of it.
  const std::string song = content_of(kSong);
  run(".mid", {song, song.substr(0, 700), song}, [&](const std::string& file) {
    return Words{"weave", file, "--coil", coil, "--out", folder_ / "out", "--salvage"};
  });
  run(".mid", {song}, [&](const std::string& file) { return Words{"song", file}; });
}

TEST_F(Mutants, OfProfiles) {
  const std::string song = folder_.write("short.mid", content_of(kSong).substr(0, 900));
  std::vector<std::string> seeds;
  for (const char* coil : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"})
    seeds.push_back(content_of(BURSTLOOM_SAMPLES "/coils/" + std::string(coil) + ".toml"));
  run(".toml", seeds, [&](const std::string& file) {
    return Words{"weave", song, "--salvage", "--coil", file, "--out", folder_ / "out"};
  });
}

TEST_F(Mutants, OfBurstFiles) {
  const std::string sound = burst();
  run(".burst", {sound}, [](const std::string& file) { return Words{"check", file}; });
  run(
      ".burst", {sound},
      [&](const std::string& file) {
        return Words{"export", file, "--to", "header", "--out", folder_ / "out"};
      },
      sealed);
  run(
      ".burst", {sound},
      [](const std::string& file) {
        return Words{"check", file};
      },
      sealed);
}

TEST_F(Mutants, OfVcdFiles) {
  const std::string ours = stream("vcd");
  const std::string theirs =
      "$date today $end\n$timescale 10 ns $end\n$scope module top $end\n$var wire 1 ! gate $end\n$var wire 8 "
      "\" bus $end\n"
      "$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\nb0 \"\n$end\n#5000\n1!\n#8000\n0!\nb101 "
      "\"\n#9000\nx!\n#9001\n0!\n#90000\n";
  run(".vcd", {ours, theirs}, [](const std::string& file) { return Words{"check", file, "--coil", kCoil}; });
}

TEST_F(Mutants, OfCsvFiles) {
  run(".csv", {stream("csv")}, [](const std::string& file) { return Words{"check", file, "--coil", kCoil}; });
}

TEST_F(Mutants, OfWavGatesAndSounds) {
  run(".wav", {stream("wav", "0.05")}, [](const std::string& file) {
    return Words{"check", file, "--coil", kCoil};
  });
}

// Inputs that once failed.
TEST_F(Mutants, Fixtures) {
  int replayed = 0;
  for (const auto& entry : std::filesystem::directory_iterator(BURSTLOOM_FIXTURES)) {
    const std::string file = entry.path().string(), ending = entry.path().extension().string();
    std::filesystem::remove(folder_ / "out");
    const Words words = ending == ".mid"
                            ? Words{"weave", file, "--coil", kCoil, "--salvage", "--out", folder_ / "out"}
                        : ending == ".toml" ? Words{"weave", kSong, "--coil", file, "--out", folder_ / "out"}
                                            : Words{"check", file, "--coil", kCoil};
    expect_sound(folder_, file, words, folder_.names());
    ++replayed;
  }
  EXPECT_GT(replayed, 0);
}

}  // namespace
}  // namespace burstloom::testing
