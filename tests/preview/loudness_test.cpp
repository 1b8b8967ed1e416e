// Loudness against the published cases: EBU Tech 3341 (table 1: cases 1 to 6 of loudness, 15 to 19 of true
// peak) and the anchor of ITU-R BS.1770-4, annex 1. The signals are made here from their descriptions;
// expected values and tolerances are the document's. The phases of the true-peak cases are from memory.
#include "burstloom/preview/loudness.hpp"

#include <gtest/gtest.h>
#include <sndfile.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "../stream/stream_support.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

struct Part {
  double dbfs, seconds;
};

double ratio(double decibels) {
  return std::pow(10.0, decibels / 20);
}

// A 1 kHz sine on all channels, part after part.
void play(LoudnessMeter& meter, int rate, const std::vector<Part>& parts, std::size_t channels = 2) {
  std::int64_t n = 0;
  for (const Part& part : parts)
    for (auto left = std::llround(part.seconds * rate); left > 0;) {
      const auto count = std::min<std::int64_t>(left, rate / 100);
      std::vector<float> block;
      for (std::int64_t i = 0; i < count; ++i, ++n) {
        const double phase = 2 * std::numbers::pi * 1000.0 * static_cast<double>(n) / rate;
        block.insert(block.end(), channels, static_cast<float>(ratio(part.dbfs) * std::sin(phase)));
      }
      meter.add(block);
      left -= count;
    }
}

class PublishedCase : public testing::TestWithParam<int> {
 protected:
  [[nodiscard]] double integrated(const std::vector<Part>& parts) const {
    LoudnessMeter meter(2, GetParam());
    play(meter, GetParam(), parts);
    return meter.integrated_lufs().value();
  }
};

TEST_P(PublishedCase, Tech3341Case1) {
  EXPECT_NEAR(integrated({{-23, 20}}), -23.0, 0.1);
}
TEST_P(PublishedCase, Tech3341Case2) {
  EXPECT_NEAR(integrated({{-33, 20}}), -33.0, 0.1);
}
TEST_P(PublishedCase, Tech3341Case3) {
  EXPECT_NEAR(integrated({{-36, 10}, {-23, 60}, {-36, 10}}), -23.0, 0.1);
}
TEST_P(PublishedCase, Tech3341Case4) {
  EXPECT_NEAR(integrated({{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}), -23.0, 0.1);
}
TEST_P(PublishedCase, Tech3341Case5) {
  EXPECT_NEAR(integrated({{-26, 20}, {-20, 20.1}, {-26, 20}}), -23.0, 0.1);
}

TEST_P(PublishedCase, Tech3341Case6OnFiveChannels) {
  const int rate = GetParam();
  const std::array<double, 5> dbfs{-28, -28, -24, -30, -30};
  std::vector<float> samples;
  for (int n = 0; n < 20 * rate; ++n)
    for (const double level : dbfs)
      samples.push_back(
          static_cast<float>(ratio(level) * std::sin(2 * std::numbers::pi * 1000.0 * n / rate)));
  LoudnessMeter meter(5, rate);
  meter.add(samples);
  EXPECT_NEAR(meter.integrated_lufs().value(), -23.0, 0.1);
}

INSTANTIATE_TEST_SUITE_P(Rates, PublishedCase, testing::Values(44'100, 48'000));

// BS.1770-4, annex 1: a 997 Hz sine of full scale in one of the front channels reads -3.01 LKFS.
TEST(Loudness, AnchorOfBs1770) {
  LoudnessMeter meter(1, 48'000);
  std::vector<float> samples;
  for (int n = 0; n < 480'000; ++n)
    samples.push_back(static_cast<float>(std::sin(2 * std::numbers::pi * 997.0 * n / 48'000)));
  meter.add(samples);
  EXPECT_NEAR(meter.integrated_lufs().value(), -3.01, 0.01);
}

struct Peak {
  int samples_a_period;
  double phase_degrees, amplitude, expected_dbtp;
};
class TruePeak : public testing::TestWithParam<Peak> {};
TEST_P(TruePeak, Tech3341Cases15To19) {
  const Peak peak = GetParam();
  LoudnessMeter meter(1, 48'000);
  std::vector<float> samples;
  for (int n = 0; n < 48'000; ++n) {
    const double turn =
        2 * std::numbers::pi * (static_cast<double>(n) / peak.samples_a_period + peak.phase_degrees / 360);
    // Faded in over 0.1 s: a sudden start overshoots between the samples, and is not the case's signal.
    const double fade = std::min(1.0, n / 4'800.0);
    samples.push_back(static_cast<float>(fade * peak.amplitude * std::sin(turn)));
  }
  meter.add(samples);
  EXPECT_LT(meter.true_peak_dbtp().value(), peak.expected_dbtp + 0.2);
  EXPECT_GT(meter.true_peak_dbtp().value(), peak.expected_dbtp - 0.4);
}
INSTANTIATE_TEST_SUITE_P(Published, TruePeak,
                         testing::Values(Peak{4, 0, 0.5, -6.0}, Peak{4, 45, 0.5, -6.0},
                                         Peak{6, 60, 0.5, -6.0}, Peak{8, 67.5, 0.5, -6.0},
                                         Peak{4, 45, 1.41, 3.0}));

TEST(Loudness, SilenceAndShortSoundsHaveNone) {
  LoudnessMeter meter(1, 48'000);
  EXPECT_FALSE(meter.integrated_lufs());
  EXPECT_FALSE(meter.true_peak_dbtp());
  meter.add(std::vector<float>(4'800, 0.1f));
  EXPECT_FALSE(meter.integrated_lufs());
  EXPECT_TRUE(meter.true_peak_dbtp());
}

TEST(Loudness, RefusesWhatItCannotMeter) {
  test::expect_error(Fault::usage, "6 channels", [] { LoudnessMeter meter(6, 48'000); });
  test::expect_error(Fault::usage, "7999 Hz", [] { LoudnessMeter meter(1, 7'999); });
  LoudnessMeter stereo(2, 48'000);
  test::expect_error(Fault::usage, "frames", [&] { stereo.add(std::vector<float>(3)); });
}

struct SoundFile {
  SF_INFO info{};
  std::vector<float> samples;
};
SoundFile read_whole(const std::string& path) {
  SoundFile sound;
  SNDFILE* file = sf_open(path.c_str(), SFM_READ, &sound.info);
  EXPECT_NE(file, nullptr) << path;
  sound.samples.resize(static_cast<std::size_t>(sound.info.frames));
  EXPECT_EQ(sf_read_float(file, sound.samples.data(), sound.info.frames), sound.info.frames);
  sf_close(file);
  return sound;
}

// The file is metered again by itself.
void expect_level(const std::string& path, double lufs, double most_dbtp) {
  const SoundFile sound = read_whole(path);
  LoudnessMeter meter(sound.info.channels, sound.info.samplerate);
  meter.add(sound.samples);
  EXPECT_NEAR(meter.integrated_lufs().value(), lufs, 0.05) << path;
  EXPECT_LE(meter.true_peak_dbtp().value(), most_dbtp + 0.01) << path;
}

TEST(WriteSketch, WavAndFlacAtTheLoudnessAskedFor) {
  const test::Folder folder;
  const BurstStream stream = test::train(2'000'000, 4'547, 100, 4'000);
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz));
  for (const char* name : {"s.wav", "s.FLAC"}) {
    const SketchLevel level = write_sketch(sketch, {.loudness_lufs = -23.0}, folder.file(name));
    EXPECT_FALSE(level.held_by_peak);
    EXPECT_NEAR(level.loudness_lufs.value(), -23.0, 1e-9);
    expect_level(folder.file(name), -23.0, -1.0);
    const SoundFile sound = read_whole(folder.file(name));
    EXPECT_EQ(sound.info.samplerate, 48'000);
    EXPECT_EQ(sound.info.format & SF_FORMAT_SUBMASK, SF_FORMAT_PCM_24);
    EXPECT_EQ(sound.info.frames, sketch.samples());
  }
  EXPECT_EQ(folder.entries(), 2u);
}

// Ten bursts a second are all peak: the peak holds them below the loudness, and the level says so.
TEST(WriteSketch, ThePeakIsNeverPassed) {
  const test::Folder folder;
  const BurstStream stream = test::train(2'000'000, 200'000, 100, 50);
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz));
  const SketchLevel level =
      write_sketch(sketch, {.loudness_lufs = -14, .true_peak_dbtp = -3}, folder.file("s.wav"));
  EXPECT_TRUE(level.held_by_peak);
  EXPECT_LT(level.loudness_lufs.value(), -14.0);
  EXPECT_NEAR(level.true_peak_dbtp.value(), -3.0, 1e-9);
  expect_level(folder.file("s.wav"), level.loudness_lufs.value(), -3.0);
}

TEST(WriteSketch, OneBurstIsBroughtToThePeakAndSilenceIsLeft) {
  const test::Folder folder;
  const BurstStream one{2'000'000, 200'000, {{100'000, 100}}};
  SoundSketch click(one, energy_from_on_time(one.tick_hz));
  const SketchLevel level = write_sketch(click, {}, folder.file("one.wav"));
  EXPECT_FALSE(level.loudness_lufs);
  EXPECT_NEAR(level.true_peak_dbtp.value(), -1.0, 1e-9);
  const BurstStream none{2'000'000, 200'000, {}};
  SoundSketch silence(none, energy_from_on_time(none.tick_hz));
  EXPECT_EQ(write_sketch(silence, {}, folder.file("none.flac")).gain, 1.0);
  EXPECT_EQ(read_whole(folder.file("none.flac")).samples, std::vector<float>(4'800, 0.0f));
}

TEST(WriteSketch, RefusesAndLeavesNothingBehind) {
  const test::Folder folder;
  const BurstStream stream = test::train(2'000'000, 4'547, 100, 400);
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz));
  const auto write = [&](const LevelOptions& options, const char* name) {
    (void)write_sketch(sketch, options, folder.file(name));
  };
  test::expect_error(Fault::usage, ".mp3", [&] { write({}, "s.mp3"); });
  test::expect_error(Fault::usage, "loudness", [&] { write({.loudness_lufs = 1}, "s.wav"); });
  test::expect_error(Fault::usage, "true peak", [&] { write({.true_peak_dbtp = std::nan("")}, "s.wav"); });
  test::expect_error(Fault::machine, "s.wav", [&] { write({}, "no such folder/s.wav"); });
  EXPECT_EQ(folder.entries(), 0u);
}

}  // namespace
}  // namespace burstloom
