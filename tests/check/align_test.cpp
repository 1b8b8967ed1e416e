// A captured evening against its set: what is told of it is what was done to it.
#include "burstloom/check/align.hpp"

#include <gtest/gtest.h>

#include "support.hpp"
#include "support/evening.hpp"

namespace burstloom {
namespace {

using testing::Evening;
using testing::made_up_song;
using testing::make_evening;
using testing::Performance;

std::vector<BurstStream> set_of(std::size_t songs, double seconds = 8) {
  std::vector<BurstStream> set;
  for (std::size_t i = 0; i < songs; ++i) set.push_back(made_up_song(100 + i, seconds));
  return set;
}

Alignment align(const std::vector<BurstStream>& set, const BurstStream& capture, std::size_t block = 4096) {
  Aligner aligner(0.1);
  for (const BurstStream& song : set) aligner.add_song(song);
  aligner.begin(capture.tick_hz);
  for (std::size_t at = 0; at < capture.bursts.size(); at += block)
    aligner.take(std::span(capture.bursts).subspan(at, std::min(block, capture.bursts.size() - at)));
  return aligner.finish();
}

void expect_told(const Playing& told, const Evening::Played& truth, const Performance& how) {
  EXPECT_EQ(told.song, how.song);
  EXPECT_NEAR(told.start_s, truth.start_s, 1e-6);
  EXPECT_NEAR(told.end_s, truth.end_s, 1e-6);
  EXPECT_EQ(told.bursts, truth.bursts);
  EXPECT_EQ(told.missing, truth.missing);
  EXPECT_EQ(told.extra, truth.extra);
  EXPECT_EQ(told.wrong_on_time, truth.wrong_on_time);
  EXPECT_NEAR(told.clock_ppm, (how.ratio - 1) * 1e6, 1);
  EXPECT_NEAR(told.jitter_us, how.jitter_us / std::sqrt(3), 0.06 + 0.03 * how.jitter_us);  // uniform
  EXPECT_NEAR(told.latest_us, how.jitter_us, 0.2 + 0.05 * how.jitter_us);
  EXPECT_NEAR(told.earliest_us, -how.jitter_us, 0.2 + 0.05 * how.jitter_us);
}

TEST(Align, ASetPlayedAsItIs) {
  const auto set = set_of(3);
  const std::vector<Performance> how{{.song = 0}, {.song = 1}, {.song = 2}};
  const Evening evening = make_evening(set, how, 1);
  const Alignment told = align(set, evening.capture);
  ASSERT_EQ(told.playings.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    expect_told(told.playings[i], evening.truth[i], how[i]);
    EXPECT_TRUE(told.playings[i].from_start && told.playings[i].to_end);
    EXPECT_FALSE(told.playings[i].repeated || told.playings[i].out_of_order);
  }
  EXPECT_EQ(told.unknown_bursts, 0);
  EXPECT_TRUE(told.not_played.empty());
}

TEST(Align, TellsOfWhatWasDoneToIt) {
  const auto set = set_of(4);
  const std::vector<Performance> how{
      {.song = 0, .ratio = 1.0098, .jitter_us = 3, .lost = 0.02, .added = 0.01, .lengthened = 0.01},
      {.song = 2, .ratio = 0.9903, .jitter_us = 1, .until = 3000, .lost = 0.05},
      {.song = 1, .pause_s = 0.05, .ratio = 1.0001, .jitter_us = 5, .added = 0.02},
      {.song = 0, .ratio = 1.0003, .jitter_us = 0.5, .from = 2000, .lengthened = 0.03}};
  const Evening evening = make_evening(set, how, 2);
  for (const std::size_t block : {1, 7, 4096}) {
    const Alignment told = align(set, evening.capture, block);
    ASSERT_EQ(told.playings.size(), how.size());
    for (std::size_t i = 0; i < how.size(); ++i) expect_told(told.playings[i], evening.truth[i], how[i]);
    const auto& played = told.playings;
    EXPECT_TRUE(played[0].from_start && played[0].to_end);
    EXPECT_TRUE(played[1].from_start && !played[1].to_end);
    EXPECT_NEAR(played[1].song_until_s, static_cast<double>(set[2].bursts[2999].end()) / 2e6, 1e-9);
    EXPECT_TRUE(played[2].out_of_order && !played[2].repeated);
    EXPECT_TRUE(played[3].repeated && !played[3].from_start && played[3].to_end);
    EXPECT_NEAR(played[3].song_from_s, static_cast<double>(set[0].bursts[2000].start) / 2e6, 1e-9);
    EXPECT_EQ(told.unknown_bursts, 0);
    EXPECT_EQ(told.not_played, std::vector<std::size_t>{3});
  }
}

// A song that is not of the set, before and between those that are.
TEST(Align, WhatIsNotOfTheSetIsUnknown) {
  auto all = set_of(4);
  const std::vector<Performance> how{{.song = 3}, {.song = 0}, {.song = 3, .until = 500}, {.song = 1}};
  const Evening evening = make_evening(all, how, 3);
  all.pop_back();
  const Alignment told = align(all, evening.capture);
  ASSERT_EQ(told.playings.size(), 2U);
  expect_told(told.playings[0], evening.truth[1], how[1]);
  expect_told(told.playings[1], evening.truth[3], how[3]);
  ASSERT_EQ(told.unknown_stretches, 2);
  for (const std::size_t i : {0U, 1U}) {
    EXPECT_NEAR(told.unknown[i].from_s, evening.truth[2 * i].start_s, 1e-6);
    EXPECT_NEAR(told.unknown[i].until_s, evening.truth[2 * i].end_s, 1e-6);
    EXPECT_EQ(told.unknown[i].bursts, evening.truth[2 * i].bursts);
  }
  EXPECT_EQ(told.not_played, std::vector<std::size_t>{2});
}

// The trigger came late, the storage was full early: the capture holds a part of its first and last song.
TEST(Align, ACaptureMayBeginAndEndWithinASong) {
  const auto set = set_of(2);
  const std::vector<Performance> how{{.song = 0, .from = 1777}, {.song = 1, .ratio = 1.004, .until = 2222}};
  const Evening evening = make_evening(set, how, 4);
  const Alignment told = align(set, evening.capture);
  ASSERT_EQ(told.playings.size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) expect_told(told.playings[i], evening.truth[i], how[i]);
  EXPECT_TRUE(!told.playings[0].from_start && told.playings[0].to_end);
  EXPECT_TRUE(told.playings[1].from_start && !told.playings[1].to_end);
}

// A wire that is off for a while: the song goes on, what was not seen is missing.
TEST(Align, ASongThatIsNotSeenForAWhileGoesOn) {
  const auto set = set_of(2);
  Evening evening = make_evening(set, {{.song = 0, .ratio = 1.002, .jitter_us = 1}, {.song = 1}}, 5);
  auto& bursts = evening.capture.bursts;
  bursts.erase(bursts.begin() + 1000, bursts.begin() + 1400);
  const Alignment told = align(set, evening.capture);
  ASSERT_EQ(told.playings.size(), 2U);
  EXPECT_EQ(told.playings[0].missing, 400);
  EXPECT_EQ(told.playings[0].bursts, evening.truth[0].bursts - 400);
  EXPECT_TRUE(told.playings[0].from_start && told.playings[0].to_end);
  EXPECT_EQ(told.unknown_bursts, 0);
}

// Nothing but landmarks within tones that go on: one voice, and two songs that begin with the same note.
TEST(Align, PlainTunesAreToldApart) {
  const auto tune = [](const std::vector<int>& keys) {
    BurstStream song{2'000'000, 0, {}};
    double at = 0;
    for (const int key : keys)
      for (const double end = at + 0.25e6; at < end; at += 1e6 / (220 * std::exp2(key / 12.0)))
        song.bursts.push_back({static_cast<Tick>(at * 2), 60});
    song.length = song.bursts.back().end();
    return song;
  };
  const std::vector<BurstStream> set{tune({0, 4, 7, 12, 7, 4, 0}), tune({0, 4, 7, 4, 2, 0, 5}),
                                     tune({3, 3, 3, 8})};
  const std::vector<Performance> how{{.song = 1}, {.song = 2, .ratio = 1.006}, {.song = 0, .ratio = 0.993}};
  const Evening evening = make_evening(set, how, 6);
  const Alignment told = align(set, evening.capture);
  ASSERT_EQ(told.playings.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) expect_told(told.playings[i], evening.truth[i], how[i]);
}

// No pause at all before and after: what stands where it could be the song's by chance alone is not taken for
// it.
TEST(Align, ASongWithinWhatIsUnknownIsToldFromIt) {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    std::vector<BurstStream> all;
    for (std::uint64_t song = 0; song < 6; ++song) all.push_back(made_up_song(1000 + 10 * seed + song, 4));
    const std::vector<Performance> how{
        {.song = 3},
        {.song = 0, .pause_s = 0.0007, .ratio = 1.003, .jitter_us = 1, .lost = 0.02},
        {.song = 4, .pause_s = 0.0006, .until = 3000},
        {.song = 1, .pause_s = 0.0006, .from = 500, .until = 1700},
        {.song = 5, .pause_s = 0.0006}};
    const Evening evening = make_evening(all, how, 50 + seed);
    const Alignment told = align({all[0], all[1], all[2]}, evening.capture);
    ASSERT_EQ(told.playings.size(), 2U);
    for (const std::size_t i : {0U, 1U}) {
      const Playing& playing = told.playings[i];
      const Evening::Played& truth = evening.truth[2 * i + 1];
      EXPECT_EQ(playing.song, i);
      EXPECT_NEAR(playing.start_s, truth.start_s, 0.003);
      EXPECT_NEAR(playing.end_s, truth.end_s, 0.003);
      // The very next burst may stand where the song's would: there it cannot be told from it.
      EXPECT_NEAR(static_cast<double>(playing.bursts), static_cast<double>(truth.bursts), 1);
      EXPECT_NEAR(static_cast<double>(playing.missing), static_cast<double>(truth.missing), 1);
      EXPECT_LE(playing.extra, 1);
    }
  }
}

TEST(Align, ManyRandomEvenings) {
  const auto set = set_of(6, 4);
  std::mt19937_64 random(7);
  const auto upto = [&](double most) { return most * static_cast<double>(random() % 1001) / 1000; };
  for (std::uint64_t evening_number = 0; evening_number < 30; ++evening_number) {
    std::vector<Performance> how;
    for (std::uint64_t i = 0; i < 1 + random() % 8; ++i)
      how.push_back({.song = random() % set.size(),
                     .pause_s = 0.01 + upto(3),
                     .ratio = 1 + upto(0.019) - 0.0095,
                     .jitter_us = upto(4),
                     .lost = upto(0.04),
                     .added = upto(0.02),
                     .lengthened = upto(0.02)});
    const Evening evening = make_evening(set, how, evening_number);
    const Alignment told = align(set, evening.capture, 1 + random() % 500);
    ASSERT_EQ(told.playings.size(), how.size()) << "evening " << evening_number;
    for (std::size_t i = 0; i < how.size(); ++i) {
      SCOPED_TRACE("evening " + std::to_string(evening_number) + ", playing " + std::to_string(i));
      expect_told(told.playings[i], evening.truth[i], how[i]);
    }
    EXPECT_EQ(told.unknown_bursts, 0);
  }
}

TEST(Align, NothingToFind) {
  EXPECT_EQ(align(set_of(1), {10'000'000, 1000, {}}).not_played.size(), 1U);
  const Evening evening = make_evening(set_of(1, 1), {{.song = 0}}, 8);
  const Alignment told = align({}, evening.capture);
  EXPECT_TRUE(told.playings.empty());
  EXPECT_EQ(told.unknown_bursts, evening.truth[0].bursts);
}

}  // namespace
}  // namespace burstloom
