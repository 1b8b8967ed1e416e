// A gate as sound, there and back, and what a sampled capture may do.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <sndfile.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "burstloom/stream/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;
using test::Folder;

void write_sound(const std::string& path, const std::vector<float>& samples, int rate = 1'000'000,
                 int format = SF_FORMAT_WAV | SF_FORMAT_FLOAT, int channels = 1) {
  SF_INFO info{};
  info.samplerate = rate;
  info.channels = channels;
  info.format = format;
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  ASSERT_NE(file, nullptr) << sf_strerror(nullptr);
  sf_command(file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
  EXPECT_EQ(sf_write_float(file, samples.data(), std::ssize(samples)), std::ssize(samples));
  sf_close(file);
}

struct Stretch {
  float level;
  int samples;
};
std::vector<float> sound(const std::vector<Stretch>& stretches) {
  std::vector<float> samples;
  for (const auto& [level, count] : stretches)
    samples.insert(samples.end(), static_cast<std::size_t>(count), level);
  return samples;
}

Capture capture_of(const std::vector<float>& samples, bool invert = false, int rate = 1'000'000) {
  const Folder folder;
  write_sound(folder.file("c.wav"), samples, rate);
  return from_wav_gate(folder.file("c.wav"), {"", invert});
}

std::vector<short> samples_of(const std::string& path) {
  SF_INFO info{};
  SNDFILE* file = sf_open(path.c_str(), SFM_READ, &info);
  if (file == nullptr) return {};
  std::vector<short> samples(static_cast<std::size_t>(info.frames));
  EXPECT_EQ(sf_read_short(file, samples.data(), info.frames), info.frames);
  EXPECT_EQ(info.channels, 1);
  EXPECT_EQ(info.format, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  sf_close(file);
  return samples;
}

// ---- writing

TEST(WavWrite, HighIsFullScaleAndLowIsZero) {
  const Folder folder;
  write_wav_gate({1'000'000, 8, {{1, 2}, {5, 1}}}, 1'000'000, folder.file("g.wav"));
  EXPECT_EQ(samples_of(folder.file("g.wav")), (std::vector<short>{0, 32767, 32767, 0, 0, 32767, 0, 0}));
  EXPECT_EQ(folder.entries(), 1u);
}

TEST(WavWrite, EdgesGoToTheNearestSample) {
  const Folder folder;
  write_wav_gate({2'000'000, 100, {{24, 16}, {66, 20}}}, 192'000, folder.file("g.wav"));
  // Edges at 12, 20, 33 and 43 us are 2.304, 3.84, 6.336 and 8.256 samples; the end at 50 us is 9.6.
  EXPECT_EQ(samples_of(folder.file("g.wav")),
            (std::vector<short>{0, 0, 32767, 32767, 0, 0, 32767, 32767, 0, 0}));
  EXPECT_FALSE(from_wav_gate(folder.file("g.wav"), {}).exact);
}

RC_GTEST_PROP(WavWrite, AtAWholeMultipleOfTheTickRateNothingIsLost, ()) {
  const Folder folder;
  BurstStream stream = test::random_stream({96'000, 250'000, 1'000'000}, 1, 3000);
  stream.length += 1;
  const int rate = static_cast<int>(stream.tick_hz) * *rc::gen::inRange(stream.tick_hz < 192'000 ? 2 : 1, 4);
  write_wav_gate(stream, rate, folder.file("g.wav"));
  const Capture capture = from_wav_gate(folder.file("g.wav"), {});
  const bool touches = std::adjacent_find(stream.bursts.begin(), stream.bursts.end(), [](auto a, auto b) {
                         return a.end() == b.start;
                       }) != stream.bursts.end();
  RC_ASSERT(capture.exact == !touches);
  if (!touches) RC_ASSERT(capture.stream == stream);
}

RC_GTEST_PROP(WavWrite, AtAnyRateEdgesMoveByHalfASampleAtMost, ()) {
  const Folder folder;
  BurstStream stream = test::random_stream({2'000'000, 3'000'000}, 60, 20'000);
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {  // long enough for every rate below
    Burst& burst = stream.bursts[i];
    const Tick room =
        (i + 1 < stream.bursts.size() ? stream.bursts[i + 1].start - 60 : stream.length) - burst.start;
    burst.on = std::min(room, std::max<Tick>(burst.on, 60));
    RC_PRE(burst.on >= 60);
  }
  RC_PRE(!stream.bursts.empty());
  const int rate = *rc::gen::elementOf(std::vector<int>{192'000, 250'007, 384'000});
  write_wav_gate(stream, rate, folder.file("g.wav"));
  const Capture capture = from_wav_gate(folder.file("g.wav"), {});
  RC_ASSERT(!capture.exact);
  RC_ASSERT(capture.stream.bursts.size() + static_cast<std::size_t>(capture.short_lows) ==
            stream.bursts.size());
  if (capture.short_lows > 0) return;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const double half = 0.5000001 / rate;
    RC_ASSERT(std::abs(capture.stream.seconds(capture.stream.bursts[i].start) -
                       stream.seconds(stream.bursts[i].start)) <= half);
    RC_ASSERT(std::abs(capture.stream.seconds(capture.stream.bursts[i].end()) -
                       stream.seconds(stream.bursts[i].end())) <= half);
  }
}

TEST(WavWrite, WhatASampleCannotShowIsRefusedAndLeavesNothing) {
  const Folder folder;
  const std::string path = folder.file("g.wav");
  expect_error(Fault::usage, "loses the whole of the burst at 0.000005 s", [&] {
    write_wav_gate({2'000'000, 100, {{10, 1}}}, 192'000, path);
  });
  expect_error(Fault::usage, "loses the gap before the burst at", [&] {
    write_wav_gate({2'000'000, 100, {{10, 40}, {51, 40}}}, 192'000, path);
  });
  expect_error(Fault::usage, "use at least 192000 Hz", [&] {
    write_wav_gate({2'000'000, 100, {}}, 191'999, path);
  });
  expect_error(Fault::usage, "use at least 192000 Hz", [&] {
    write_wav_gate({2'000'000, 100, {}}, -5, path);
  });
  expect_error(Fault::usage, "use at most 100000000 Hz", [&] {
    write_wav_gate({2'000'000, 100, {}}, 100'000'001, path);
  });
  expect_error(Fault::usage, "exceed the 4 GiB", [&] {
    write_wav_gate({2'000'000, Tick{2'000'000} * 1074, {}}, 2'000'000, path);
  });
  expect_error(Fault::usage, "exceed the 4 GiB", [&] {
    write_wav_gate({1000, kEndOfTime - 1, {}}, 100'000'000, path);
  });
  expect_error(Fault::usage, "lasts no time", [&] { write_wav_gate({2'000'000, 0, {}}, 192'000, path); });
  expect_error(Fault::bad_input, "before the one before it ends", [&] {
    write_wav_gate({2'000'000, 100, {{5, 5}, {6, 7}}}, 192'000, path);
  });
  EXPECT_EQ(folder.entries(), 0u);
  expect_error(Fault::machine, "cannot write here", [&] {
    write_wav_gate({2'000'000, 100, {}}, 192'000, folder.file("no/such.wav"));
  });
}

TEST(WavWrite, AFullDiskIsAnError) {
  expect_error(Fault::machine, "", [] {
    write_wav_gate({2'000'000, 2'000'000, {{5, 5}}}, 2'000'000, "/dev/full");
  });
}

// ---- captures

TEST(WavRead, ASampledGateIsACapture) {
  const Capture capture = capture_of(sound({{0.0f, 100}, {0.8f, 40}, {0.0f, 360}}));
  EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 500, {{100, 40}}}));
  EXPECT_FALSE(capture.exact || capture.starts_high || capture.ends_high);
  EXPECT_DOUBLE_EQ(capture.sample_us, 1.0);
  EXPECT_EQ(capture.short_highs + capture.short_lows, 0);
}

TEST(WavRead, EveryKindOfSampleIsRead) {
  const auto samples = sound({{-0.5f, 100}, {0.5f, 40}, {-0.5f, 360}});
  for (const int kind : {SF_FORMAT_WAV, SF_FORMAT_WAVEX, SF_FORMAT_RF64})
    for (const int coding : {SF_FORMAT_PCM_U8, SF_FORMAT_PCM_16, SF_FORMAT_PCM_24, SF_FORMAT_PCM_32,
                             SF_FORMAT_FLOAT, SF_FORMAT_DOUBLE}) {
      const Folder folder;
      write_sound(folder.file("c.wav"), samples, 192'000, kind | coding);
      EXPECT_EQ(from_wav_gate(folder.file("c.wav"), {}).stream, (BurstStream{192'000, 500, {{100, 40}}}))
          << std::hex << (kind | coding);
    }
}

TEST(WavRead, OfSeveralChannelsTheFirstIsRead) {
  const Folder folder;
  std::vector<float> both;
  for (const float value : sound({{0.0f, 100}, {1.0f, 40}, {0.0f, 360}}))
    both.insert(both.end(), {value, 1.0f - value, 0.3f});
  write_sound(folder.file("c.wav"), both, 1'000'000, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 3);
  EXPECT_EQ(from_wav_gate(folder.file("c.wav"), {}).stream, (BurstStream{1'000'000, 500, {{100, 40}}}));
}

TEST(WavRead, StuckHighIsOneBurstOverAll) {
  for (const float level : {0.26f, 1.0f}) {
    const Capture capture = capture_of(sound({{level, 70'000}}));
    EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 70'000, {{0, 70'000}}})) << level;
    EXPECT_TRUE(capture.starts_high && capture.ends_high);
  }
}

TEST(WavRead, NoiseOnAStuckLevelIsNoGate) {
  std::vector<float> samples = sound({{0.8f, 1000}});
  for (std::size_t i = 0; i < samples.size(); ++i) samples[i] += i % 7 < 3 ? 0.01f : -0.01f;
  EXPECT_EQ(capture_of(samples).stream.bursts, (std::vector<Burst>{{0, 1000}}));
}

TEST(WavRead, AConstantLowFileIsSilenceUnlessInverted) {
  for (const float level : {0.0f, 0.2f, -0.9f}) {
    EXPECT_TRUE(capture_of(sound({{level, 500}})).stream.bursts.empty()) << level;
    const Capture inverted = capture_of(sound({{level, 500}}), true);
    EXPECT_EQ(inverted.stream.bursts, (std::vector<Burst>{{0, 500}})) << level;
    EXPECT_TRUE(inverted.starts_high && inverted.ends_high);
  }
}

TEST(WavRead, HighAtTheStartHighAtTheEndAndInverted) {
  const auto samples = sound({{1.0f, 30}, {0.0f, 400}, {1.0f, 70}});
  const Capture capture = capture_of(samples);
  EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 500, {{0, 30}, {430, 70}}}));
  EXPECT_TRUE(capture.starts_high && capture.ends_high);
  const Capture inverted = capture_of(samples, true);
  EXPECT_EQ(inverted.stream, (BurstStream{1'000'000, 500, {{30, 400}}}));
  EXPECT_FALSE(inverted.starts_high || inverted.ends_high);
}

TEST(WavRead, GlitchesOfUnderTwoSamplesOrAMicrosecond) {
  const auto samples = sound(
      {{0, 100}, {1, 1}, {0, 100}, {1, 2}, {0, 100}, {1, 20}, {0, 1}, {1, 20}, {0, 2}, {1, 20}, {0, 34}});
  const Capture slow = capture_of(samples, false, 192'000);
  EXPECT_EQ(slow.stream.bursts, (std::vector<Burst>{{100, 1}, {201, 2}, {303, 41}, {346, 20}}));
  EXPECT_EQ(slow.short_highs, 1);
  EXPECT_EQ(slow.short_lows, 1);
  const Capture fast = capture_of(samples, false, 10'000'000);  // a microsecond is ten samples
  EXPECT_EQ(fast.stream.bursts, (std::vector<Burst>{{100, 1}, {201, 2}, {303, 63}}));
  EXPECT_EQ(fast.short_highs, 2);
  EXPECT_EQ(fast.short_lows, 2);
}

TEST(WavRead, RingingAboutTheMiddleSplitsNothing) {
  std::vector<float> samples = sound({{0.0f, 100}, {1.0f, 100}, {0.0f, 100}});
  const std::vector<float> ringing{0.52f, 0.48f, 0.57f, 0.45f, 0.60f, 0.41f};
  std::copy(ringing.begin(), ringing.end(), samples.begin() + 100);
  std::copy(ringing.rbegin(), ringing.rend(), samples.begin() + 200);
  const Capture capture = capture_of(samples);
  ASSERT_EQ(capture.stream.bursts.size(), 1u);
  EXPECT_EQ(capture.short_highs + capture.short_lows, 0);
  EXPECT_EQ(capture.stream.bursts[0], (Burst{100, 106})) << "from the first crossing to the last";
  for (float& value : samples) value = -value;
  EXPECT_EQ(capture_of(samples, true).stream, capture.stream);
}

TEST(WavRead, SlowEdgesLieWhereTheyCrossTheMiddle) {
  std::vector<float> samples = sound({{0.0f, 100}});
  for (int i = 0; i < 10; ++i) samples.push_back(0.05f + 0.1f * static_cast<float>(i));
  samples.insert(samples.end(), 90, 1.0f);
  for (int i = 9; i >= 0; --i) samples.push_back(0.05f + 0.1f * static_cast<float>(i));
  samples.insert(samples.end(), 100, 0.0f);
  EXPECT_EQ(capture_of(samples).stream.bursts, (std::vector<Burst>{{105, 100}}));
}

TEST(WavRead, ACutOffFileEndsHigh) {
  const Folder folder;
  const std::string path = folder.file("g.wav");
  write_wav_gate({1'000'000, 1000, {{100, 50}, {900, 60}}}, 1'000'000, path);
  EXPECT_TRUE(from_wav_gate(path, {}).exact);
  std::filesystem::resize_file(path, std::filesystem::file_size(path) - 2 * 70);
  const Capture capture = from_wav_gate(path, {});
  EXPECT_FALSE(capture.exact) << "it is not what was written";
  EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 930, {{100, 50}, {900, 30}}}));
  EXPECT_TRUE(capture.ends_high);
}

TEST(WavRead, FilesThatAreNoCaptureAreRefused) {
  const Folder folder;
  const std::string path = folder.file("c.wav");
  const auto refused = [&](const std::string& part) {
    expect_error(Fault::bad_input, part, [&] { (void)from_wav_gate(path, {}); });
  };
  refused("cannot be read as sound");
  write_sound(path, {});
  refused("holds no samples");
  write_sound(path, sound({{0, 100}}), 96'000);
  refused("has a sample rate of 96000 Hz");
  write_sound(path, sound({{0, 100}}), 192'000, SF_FORMAT_AIFF | SF_FORMAT_PCM_16);
  refused("not WAV");
  write_sound(path, sound({{0, 4096}}), 192'000, SF_FORMAT_WAV | SF_FORMAT_MS_ADPCM);
  refused("compressed");
  for (const float bad : {std::numeric_limits<float>::infinity(), std::numeric_limits<float>::quiet_NaN()}) {
    write_sound(path, {0.0f, 1.0f, bad, 0.0f});
    refused("sample 2 is not a finite number");
  }
  write_file(path, "RIFF and no more");
  refused("cannot be read as sound");
}

}  // namespace
}  // namespace burstloom
