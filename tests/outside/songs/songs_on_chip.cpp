// The main job, end to end, with the program that people run: weave a bundled song, export it excerpt by
// excerpt so that the excerpts fit the chip and together cover the song, compile each with avr-gcc, play it
// in a simulated chip, capture the pin. `burstloom check` judges the capture, and every burst of it is the
// stream's, to the tick.
#include <gtest/gtest.h>

#include <cstdio>
#include <nlohmann/json.hpp>
#include <sstream>

#include "../avr/bench.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/stream/files.hpp"

namespace avr_check {
namespace {

using burstloom::BurstStream;
using burstloom::Tick;

struct Piece {
  const char* name;  ///< of the test
  const char* song;
  const char* coil;
};

void PrintTo(const Piece& piece, std::ostream* out) {
  *out << piece.song << " on " << piece.coil;
}

class SongOnChip : public ::testing::TestWithParam<Piece> {
 protected:
  void SetUp() override {
    const std::string test = ::testing::UnitTest::GetInstance()->current_test_info()->name();
    folder_ = fresh_folder("song_" + test.substr(0, test.find('/')) + "_" + GetParam().name);
    coil_ = quoted(BURSTLOOM_SAMPLES "/coils/" + std::string(GetParam().coil));
    stream_file_ = folder_ + "/song.burst";
    burstloom("weave " + quoted(BURSTLOOM_SAMPLES "/" + std::string(GetParam().song)) + " --coil " + coil_ +
              " --out " + quoted(stream_file_));
    stream_ = burstloom::read_stream(stream_file_, {}).file.stream;
    ASSERT_GT(stream_.bursts.size(), 500u);
  }

  static std::string quoted(const std::string& text) { return "'" + text + "'"; }
  static std::string burstloom(const std::string& words) { return shell(BURSTLOOM_PROGRAM " " + words); }
  static std::string seconds(Tick tick, std::int64_t tick_hz) {
    char text[40];
    std::snprintf(text, sizeof text, "%.9f", static_cast<double>(tick) / static_cast<double>(tick_hz));
    return text;
  }

  /// Exports, compiles and plays one excerpt after the other by `play(elf, excerpt, armed at)`, which returns
  /// the gate's edges.
  template <class Play>
  void play_whole_song(Play play) {
    std::size_t bursts = 0, excerpts = 0;
    for (Tick from = 0; from < stream_.length; ++excerpts) {
      const Tick until = fitting_until(from);
      ASSERT_GT(until, from);
      const BurstStream part = excerpt(stream_, from, until);
      if (!part.bursts.empty()) play_excerpt(from, until, part, play);
      if (HasFatalFailure()) return;
      bursts += part.bursts.size();
      from = until;
    }
    EXPECT_EQ(bursts, stream_.bursts.size()) << "the excerpts do not cover the song";
    std::printf("%s: %zu bursts in %zu excerpts\n", GetParam().song, bursts, excerpts);
  }

  /// The end of the longest excerpt that fits, never within a burst.
  [[nodiscard]] Tick fitting_until(Tick from) const {
    const BurstStream rest = excerpt(stream_, from, stream_.length);
    burstloom::TableInput input;
    input.stream = rest;
    input.title = "rest";
    input.profile = burstloom::read_profile(BURSTLOOM_SAMPLES "/coils/" + std::string(GetParam().coil));
    const burstloom::TableFit fit = fit_of(input, atmega());
    if (fit.fits()) return stream_.length;
    return from + burstloom::nearest_tick(fit.fits_until_s, stream_.tick_hz);
  }

  template <class Play>
  void play_excerpt(Tick from, Tick until, const BurstStream& part, Play play) {
    const std::string project = folder_ + "/at_" + std::to_string(from);
    const auto exported = nlohmann::json::parse(burstloom(
        "export " + quoted(stream_file_) + " --to project --json --out " + quoted(project) + " --from " +
        seconds(from, stream_.tick_hz) + " --until " + seconds(until, stream_.tick_hz)));
    // After reset the player rests first, as it cannot know how warm the coil still is.
    const double armed_s = 0.2 + exported["rest_before_repeat_s"].get<double>() * 1.01;
    shell("make -s -C " + quoted(project));
    const auto [played, tolerance] = play(project + "/player.elf", part, armed_s);
    EXPECT_EQ(absent_bursts(pulses(played), part, tolerance), std::vector<std::size_t>{})
        << "excerpt from tick " << from;
  }

  std::string folder_, coil_, stream_file_;
  BurstStream stream_;
};

struct Played {
  std::vector<Edge> edges;
  std::int64_t tolerance_cycles;
};

TEST_P(SongOnChip, simavr) {
  play_whole_song([this](const std::string& elf, const BurstStream& part, double armed_s) {
    Options options = for_stream(part);
    options.switches = {{0, false, true}, {armed_s, true, true}};
    options.seconds += armed_s;
    const Playback run = simulate(elf, options);
    EXPECT_EQ(run.status.songs, 1);
    EXPECT_EQ(run.status.missed, 0u);
    EXPECT_EQ(run.resets, 0);
    const std::string capture = elf.substr(0, elf.size() - 3) + "vcd";
    burstloom::write_file(capture, to_vcd(run));
    const auto verdict =
        nlohmann::json::parse(burstloom("check " + quoted(capture) + " --wire gate --json --coil " + coil_));
    EXPECT_EQ(verdict["verdict"], "within limits");
    EXPECT_EQ(verdict["stream"]["bursts"], part.bursts.size());
    return Played{run.gate, kSimavrLateness};
  });
}

TEST_P(SongOnChip, avr8js) {
  play_whole_song([](const std::string& elf, const BurstStream& part, double armed_s) {
    const std::string stem = elf.substr(0, elf.size() - 3);
    shell("cd '" BURSTLOOM_AVR_NODE "' && '" BURSTLOOM_NODE "' '" BURSTLOOM_AVR_SOURCES
          "/play_in_avr8js.mjs' '" +
          stem + "hex' '" + stem + "csv' " + std::to_string(part.seconds(part.length) + armed_s + 0.3) + " " +
          std::to_string(armed_s));
    return Played{read_edges(stem + "csv"), 1};
  });
}

// The continuous-wave coil has no gap; this chip needs one, so its songs are for targets to come.
INSTANTIATE_TEST_SUITE_P(
    on, SongOnChip,
    ::testing::Values(Piece{"lanterns", "quayside-lanterns.mid", "bench-36v.toml"},
                      Piece{"lanterns_325v", "quayside-lanterns.mid", "half-bridge-325v.toml"},
                      Piece{"lanterns_560v", "quayside-lanterns.mid", "full-bridge-560v.toml"},
                      Piece{"ferry_call", "ferry-call.flac", "bench-36v.toml"},
                      Piece{"chords", "harbour-chords.flac", "bench-36v.toml"}),
    [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace
}  // namespace avr_check
