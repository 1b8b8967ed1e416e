// Every format, rate and channel count that read_sound promises, written by libsndfile and read back.
#include "sound_files.hpp"
#include "tones.hpp"

namespace burstloom::test {
namespace {

struct Format {
  const char* name;
  int code;
  int rate_hz;
  double worst_step;  ///< largest error of a sample; 0: the coding is lossy, and the tone is judged instead
  double read_rate_hz = 0;
};

/// The error that rounding to `bits` may make, both roundings of writer and reader.
constexpr double bits(int count) {
  return 2.0 / (1LL << count) * 1.01;
}

class Formats : public SoundFiles {};

std::vector<float> spread(const Sound& mono, int channels) {
  std::vector<float> interleaved;
  for (const float sample : mono.samples)
    for (int c = 0; c < channels; ++c) interleaved.push_back(sample);
  return interleaved;
}

double worst_difference(const Sound& a, const Sound& b) {
  double worst = 0;
  for (std::size_t n = 0; n < std::min(a.samples.size(), b.samples.size()); ++n)
    worst = std::max(worst, static_cast<double>(std::abs(a.samples[n] - b.samples[n])));
  return worst;
}

TEST_F(Formats, LosslessFormatsGiveTheSamplesBack) {
  const Format formats[] = {
      {"u8.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 22050, bits(8)},
      {"16.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, bits(16)},
      {"24.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 48000, bits(24)},
      {"32.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_32, 44100, bits(24)},
      {"float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 96000, 0.0 + 1e-12},
      {"double.wav", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 192000, 1e-12},
      {"extensible.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, 44100, bits(24)},
      {"rf64.wav", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 44100, bits(16)},
      {"16.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 32000, bits(16)},
      {"float.aiff", SF_FORMAT_AIFF | SF_FORMAT_FLOAT, 44100, 1e-12},
      {"16.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 44100, bits(16)},
      {"24.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 96000, bits(24)},
  };
  for (const Format& f : formats) {
    const Sound tone = sine(f.rate_hz, 0.25, 440.0);
    const std::string file = write_sound(f.name, f.code, f.rate_hz, 1, tone.samples);
    EXPECT_TRUE(looks_like_sound(file)) << f.name;
    const Sound read = read_sound(file);
    EXPECT_EQ(read.rate_hz, f.rate_hz) << f.name;
    EXPECT_EQ(read.samples.size(), tone.samples.size()) << f.name;
    EXPECT_LE(worst_difference(read, tone), f.worst_step) << f.name;
    EXPECT_TRUE(read.remarks.empty()) << f.name << ": " << read.remarks.front();
  }
}

TEST_F(Formats, LossyFormatsKeepTheTone) {
  const Format formats[] = {
      {"vorbis.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 44100, 0},
      {"low-vorbis.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, 8000, 0},
      {"sound.opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, 48000, 0},
      {"low.opus", SF_FORMAT_OGG | SF_FORMAT_OPUS, 8000, 0},
      {"layer3.mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 44100, 0},
      {"low-layer3.mp3", SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, 16000, 0},
  };
  for (const Format& f : formats) {
    const Sound tone = harmonics(f.rate_hz, 2.0, 220.0, 1, 4);
    const std::string file = write_sound(f.name, f.code, f.rate_hz, 1, tone.samples);
    EXPECT_TRUE(looks_like_sound(file)) << f.name;
    const Sound read = read_sound(file);
    EXPECT_NEAR(read.length_s(), 2.0, 0.08) << f.name;  // an MP3's first and last frames are padded
    EXPECT_LT(std::abs(cents(hz_at(follow(read), 1.0), 220.0)), 3.0) << f.name;
  }
}

TEST_F(Formats, EveryUsualRateIsRead) {
  for (const int rate :
       {8000, 11025, 12000, 16000, 22050, 24000, 32000, 37800, 44100, 48000, 88200, 96000, 176400, 192000}) {
    const Sound tone = sine(rate, 0.2, 330.0);
    const Sound read =
        read_sound(write_sound("rate.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, rate, 1, tone.samples));
    EXPECT_EQ(read.rate_hz, rate);
    EXPECT_LT(std::abs(cents(hz_at(follow(read), 0.1), 330.0)), 3.0) << rate;
  }
}

TEST_F(Formats, ChannelsOfOppositePhaseDoNotCancel) {
  const Sound tone = sine(44100, 0.5, 440.0);
  std::vector<float> interleaved;
  for (const float sample : tone.samples) {
    interleaved.push_back(sample);
    interleaved.push_back(-0.9F * sample);
  }
  for (const int code : {SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_FLAC | SF_FORMAT_PCM_16}) {
    const Sound read = read_sound(write_sound("phase", code, 44100, 2, interleaved));
    EXPECT_LT(worst_difference(read, tone), 1e-4);
    EXPECT_EQ(read.samples.size(), tone.samples.size());
    ASSERT_EQ(read.remarks.size(), 1U);
    EXPECT_NE(read.remarks[0].find("opposite phase"), std::string::npos);
  }
}

TEST_F(Formats, OneToEightChannelsBecomeTheirMean) {
  for (int channels = 1; channels <= 8; ++channels) {
    std::vector<float> interleaved;
    for (int frame = 0; frame < 20000;
         ++frame)  // more than one block of 65 536 samples from four channels on
      for (int c = 0; c < channels; ++c) interleaved.push_back(c == frame % channels ? 0.5F : 0.0F);
    const int code = channels > 2 ? SF_FORMAT_WAVEX : SF_FORMAT_WAV;
    const Sound read =
        read_sound(write_sound("many.wav", code | SF_FORMAT_FLOAT, 44100, channels, interleaved));
    ASSERT_EQ(read.samples.size(), 20000U) << channels;
    for (const float sample : read.samples) ASSERT_FLOAT_EQ(sample, 0.5F / static_cast<float>(channels));
  }
  const Sound tone = sine(44100, 1.0, 440.0);
  for (const int channels : {2, 6, 8})
    for (const int code : {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, SF_FORMAT_OGG | SF_FORMAT_VORBIS}) {
      const Sound read = read_sound(write_sound("many", code, 44100, channels, spread(tone, channels)));
      EXPECT_LT(std::abs(cents(hz_at(follow(read), 0.5), 440.0)), 3.0) << channels;
    }
}

TEST_F(Formats, TheTitleComesFromTheFileOrItsName) {
  const std::vector<float> some(1000, 0.1F);
  const auto title = [&](const std::string& name, const std::string& tag) {
    return read_sound(write_sound(name, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 1, some, tag)).title;
  };
  EXPECT_EQ(title("a.wav", "The ferry's call"), "The ferry's call");
  EXPECT_EQ(title("morning fog.wav", ""), "morning fog");
  EXPECT_EQ(title("blank.wav", "   "), "blank");
  EXPECT_EQ(title("b.wav", "bell\x1b[2J"), "bell?[2J");
  EXPECT_LE(title("c.wav", std::string(500, 'x')).size(), 300U);
}

TEST_F(Formats, SamplesThatAreNoNumbersBecomeSilenceAndAreCounted) {
  std::vector<float> samples(1000, 0.25F);
  samples[10] = std::nanf("");
  samples[20] = INFINITY;
  samples[30] = -INFINITY;
  samples[40] = 1e30F;
  const Sound read = read_sound(write_sound("nan.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 44100, 1, samples));
  for (const std::size_t at : {10U, 20U, 30U, 40U}) EXPECT_EQ(read.samples[at], 0.0F) << at;
  EXPECT_EQ(read.samples[50], 0.25F);
  ASSERT_EQ(read.remarks.size(), 1U);
  EXPECT_NE(read.remarks[0].find("4 samples"), std::string::npos) << read.remarks[0];
}

TEST_F(Formats, ClippedAndUnscaledSoundIsRead) {
  const Sound loud = sine(44100, 0.5, 220.0, 3.0);
  const Sound clipped =
      read_sound(write_sound("clipped.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 1, loud.samples));
  EXPECT_NEAR(*std::max_element(clipped.samples.begin(), clipped.samples.end()), 1.0F, 1e-4F);
  EXPECT_LT(std::abs(cents(hz_at(follow(clipped), 0.25), 220.0)), 3.0);
  const Sound unscaled = sine(44100, 0.5, 220.0, 32767.0);
  const Sound read =
      read_sound(write_sound("unscaled.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 44100, 1, unscaled.samples));
  ASSERT_EQ(read.remarks.size(), 1U);
  EXPECT_NE(read.remarks[0].find("times full scale"), std::string::npos) << read.remarks[0];
  EXPECT_LT(std::abs(cents(hz_at(follow(read), 0.25), 220.0)), 3.0);
}

TEST_F(Formats, OneSampleIsASound) {
  const Sound read = read_sound(write_sound("one.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 1, {0.5F}));
  ASSERT_EQ(read.samples.size(), 1U);
  EXPECT_EQ(voiced_points(follow(read)), 0U);
  EXPECT_LE(edges(read).size(), 1U);
}

}  // namespace
}  // namespace burstloom::test
