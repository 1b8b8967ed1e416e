// The main job, end to end, with the program that people run: weave a bundled song, export it (in excerpts
// where it does not fit the chip whole), compile it with avr-gcc, play it in a simulated chip, capture the
// pin. `burstloom check` judges the capture, and every burst of it is the stream's, to the tick.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <string_view>

#include "../avr/bench.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/score/write_midi.hpp"
#include "burstloom/stream/files.hpp"

namespace avr_check {
namespace {

using burstloom::BurstStream;
using burstloom::Tick;

constexpr const char* kThreeMinutes = "three minutes";

// Three minutes of three voices: a melody in eighths that wanders over a scale, chords' thirds held below it,
// a bass in quarters. Our own, by dice.
burstloom::Score three_minutes() {
  burstloom::Score score;
  score.title = "Three Minutes";
  score.length_s = 180;
  std::mt19937 dice(3);
  constexpr int scale[] = {0, 2, 4, 5, 7, 9, 11};
  const auto key = [&](int step) { return 12.0 * (step / 7) + scale[step % 7]; };
  int step = 0;
  for (int eighth = 0; eighth < 720; ++eighth) {
    const double at = eighth * 0.25;
    step = std::clamp(step + static_cast<int>(dice() % 5) - 2, 0, 13);
    const double velocity = 0.5 + static_cast<double>(dice() % 50) / 100;
    if (dice() % 6 != 0) score.notes.push_back({at, at + 0.23, 67 + key(step), velocity, 0});
    if (eighth % 4 == 0) score.notes.push_back({at, at + 0.95, 55 + key(step / 2), 0.7, 1});
    if (eighth % 2 == 0) score.notes.push_back({at, at + 0.45, 36 + key((step + eighth / 8) % 7), 0.8, 2});
  }
  std::sort(score.notes.begin(), score.notes.end(), [](const auto& a, const auto& b) {
    return std::pair(a.start_s, a.key) < std::pair(b.start_s, b.key);
  });
  return score;
}

struct Piece {
  const char* name;  ///< of the test
  const char* song;
  const char* coil;
  const char* words = "";    ///< more for weave
  std::size_t excerpts = 1;  ///< in which it must fit
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
    std::string song = BURSTLOOM_SAMPLES "/" + std::string(GetParam().song);
    if (GetParam().song == std::string_view(kThreeMinutes)) {
      song = folder_ + "/three-minutes.mid";
      burstloom::write_file(song, to_midi(three_minutes()));
    }
    burstloom("weave " + quoted(song) + " --coil " + coil_ + " --out " + quoted(stream_file_) + " " +
              GetParam().words);
    const burstloom::BurstFile woven = burstloom::read_stream(stream_file_, {}).file;
    stream_ = woven.stream;
    account_ = woven.account;
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
    EXPECT_LE(excerpts, GetParam().excerpts);
    std::printf("%s: %zu bursts in %zu excerpts\n", GetParam().song, bursts, excerpts);
  }

  /// The end of the longest excerpt that fits, never within a burst.
  [[nodiscard]] Tick fitting_until(Tick from) const {
    const BurstStream rest = excerpt(stream_, from, stream_.length);
    burstloom::TableInput input;
    input.stream = rest;
    input.title = "rest";
    input.profile = burstloom::read_profile(BURSTLOOM_SAMPLES "/coils/" + std::string(GetParam().coil));
    input.account = excerpt(account_, stream_, from, stream_.length);
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
    // The longest duty window of the bundled coils, a second, has to pass too.
    const double armed_s = 0.2 + std::max(1.3, exported["rest_before_repeat_s"].get<double>()) * 1.01;
    shell("make -s -C " + quoted(project));
    const auto [played, tolerance] = play(project + "/player.elf", part, armed_s);
    EXPECT_EQ(absent_bursts(pulses(played), part, tolerance), std::vector<std::size_t>{})
        << "excerpt from tick " << from;
  }

  std::string folder_, coil_, stream_file_;
  BurstStream stream_;
  burstloom::Account account_;
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
    Playback run = simulate(elf, options);
    EXPECT_EQ(run.status.songs, 1);
    EXPECT_EQ(run.status.missed, 0u);
    EXPECT_EQ(run.resets, 0);
    const std::string capture = elf.substr(0, elf.size() - 3) + "vcd";
    run.gate = at_their_ticks(std::move(run.gate));
    burstloom::write_file(capture, to_vcd(run));
    const auto verdict = nlohmann::json::parse(
        burstloom("check " + quoted(capture) + " --wire gate --tolerance-us 0 --json --coil " + coil_));
    EXPECT_EQ(verdict["verdict"], "within limits");
    EXPECT_EQ(verdict["stream"]["bursts"], part.bursts.size());
    return Played{run.gate, kSimavrLateness};
  });
}

// A second simulator's word, slower by far.
class SongOnSecondChip : public SongOnChip {};
TEST_P(SongOnSecondChip, avr8js) {
  play_whole_song([](const std::string& elf, const BurstStream& part, double armed_s) {
    const std::string stem = elf.substr(0, elf.size() - 3);
    shell("cd '" BURSTLOOM_AVR_NODE "' && '" BURSTLOOM_NODE "' '" BURSTLOOM_AVR_SOURCES
          "/play_in_avr8js.mjs' '" +
          stem + "hex' '" + stem + "csv' " + std::to_string(part.seconds(part.length) + armed_s + 0.3) + " " +
          std::to_string(armed_s));
    return Played{read_edges(stem + "csv"), 1};
  });
}

// All bundled songs in one image on one chip: one arming, every burst of every song to the tick, the pauses
// held, and the evening as captured within the coil's limits.
TEST(set, of_all_bundled_songs) {
  const std::string folder = fresh_folder("bundled_set"), program = BURSTLOOM_PROGRAM " ",
                    coil = " --coil " BURSTLOOM_SAMPLES "/coils/bench-36v.toml";
  std::vector<burstloom::ImageSong> songs;
  std::string streams;
  for (const char* song : {"quayside-lanterns.mid", "ferry-call.flac", "harbour-chords.flac"}) {
    const std::string stream = folder + "/" + std::to_string(songs.size()) + ".burst";
    shell(program + "weave '" BURSTLOOM_SAMPLES "/" + song + "'" + coil + " --out '" + stream + "'");
    songs.emplace_back().table.stream = burstloom::read_stream(stream, {}).file.stream;
    streams += "'" + stream + "' ";
  }
  const auto exported =
      nlohmann::json::parse(shell(program + "export " + streams +
                                  "--pause 2 --pause 3 --to project --json --out '" + folder + "/project'"));
  shell("make -s -C '" + folder + "/project'");
  constexpr double kArmed_s = 3;
  Options options;
  options.switches = {{0, false, true}, {kArmed_s, true, true}};
  options.songs = 3;
  options.until_song_ends = true;
  options.seconds = kArmed_s + 10;
  for (const auto& song : songs) options.seconds += song.table.stream.seconds(song.table.stream.length);
  Playback run = simulate(folder + "/project/player.elf", options);
  EXPECT_EQ(run.status.songs, 3);
  EXPECT_EQ(run.status.missed, 0u);
  EXPECT_EQ(run.status.refused, 0u);
  const PlayedSet played = played_set(pulses(run.gate), songs, kClockHz);
  for (std::size_t i = 0; i < songs.size(); ++i)
    EXPECT_EQ(absent_bursts(played.songs[i], songs[i].table.stream, kSimavrLateness),
              std::vector<std::size_t>{});
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_GE(played.pauses_s[i], i == 0 ? 2 : 3);
    EXPECT_GE(played.pauses_s[i], exported["songs"][i]["pause_s"].get<double>());
    std::printf("pause %zu: %g s\n", i, played.pauses_s[i]);
  }
  run.gate = at_their_ticks(std::move(run.gate));
  burstloom::write_file(folder + "/evening.vcd", to_vcd(run));
  const auto verdict = nlohmann::json::parse(
      shell(program + "check '" + folder + "/evening.vcd' --wire gate --tolerance-us 0 --json" + coil));
  EXPECT_EQ(verdict["verdict"], "within limits");
}

// What the tables take, with the aims: 24 KB for three minutes of three voices, a byte for a burst.
TEST(size, of_tables) {
  for (const char* words : {"", " --causal"}) {
    const std::string folder = fresh_folder("table_sizes");
    burstloom::write_file(folder + "/song.mid", to_midi(three_minutes()));
    shell(BURSTLOOM_PROGRAM " weave '" + folder +
          "/song.mid' --coil " BURSTLOOM_SAMPLES "/coils/bench-36v.toml --out '" + folder + "/song.burst'" +
          words);
    const burstloom::BurstFile woven = burstloom::read_stream(folder + "/song.burst", {}).file;
    burstloom::TableInput input{woven.stream, "", burstloom::parse_profile(woven.profile, "coil"), 0,
                                woven.account};
    const burstloom::TableFit fit = fit_of(input, atmega());
    const double bytes = static_cast<double>(fit.table_bytes);
    std::printf("three minutes%s: %ld bursts, %ld bytes, %.3f a burst, %.1f s a kilobyte\n", words,
                static_cast<long>(fit.bursts), static_cast<long>(fit.table_bytes),
                bytes / static_cast<double>(fit.bursts), 180 * 1024 / bytes);
    EXPECT_LE(bytes, static_cast<double>(fit.bursts));
    if (*words != 0) {
      EXPECT_LE(bytes, 24 * 1024);
    }
  }
}

// The continuous-wave coil has no gap; this chip needs one, so its songs are for targets to come.
std::string name_of(const ::testing::TestParamInfo<Piece>& tested) {
  return tested.param.name;
}
INSTANTIATE_TEST_SUITE_P(
    on, SongOnChip,
    ::testing::Values(Piece{"lanterns", "quayside-lanterns.mid", "bench-36v.toml"},
                      Piece{"lanterns_325v", "quayside-lanterns.mid", "half-bridge-325v.toml"},
                      Piece{"lanterns_560v", "quayside-lanterns.mid", "full-bridge-560v.toml", "", 2},
                      Piece{"causal_36v", "quayside-lanterns.mid", "bench-36v.toml", "--causal"},
                      Piece{"causal_560v", "quayside-lanterns.mid", "full-bridge-560v.toml", "--causal"},
                      Piece{"three_minutes", kThreeMinutes, "bench-36v.toml", "--causal"},
                      Piece{"three_minutes_ahead", kThreeMinutes, "bench-36v.toml", "", 3},
                      Piece{"ferry_call", "ferry-call.flac", "bench-36v.toml"},
                      Piece{"chords", "harbour-chords.flac", "bench-36v.toml"}),
    name_of);
INSTANTIATE_TEST_SUITE_P(on, SongOnSecondChip,
                         ::testing::Values(Piece{"lanterns", "quayside-lanterns.mid", "bench-36v.toml"},
                                           Piece{"causal_560v", "quayside-lanterns.mid",
                                                 "full-bridge-560v.toml", "--causal"},
                                           Piece{"chords", "harbour-chords.flac", "bench-36v.toml"}),
                         name_of);

}  // namespace
}  // namespace avr_check
