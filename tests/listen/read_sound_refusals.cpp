// What read_sound refuses or remarks on, and that it says so in one sentence.
#include <sys/stat.h>

#include <random>

#include "sound_files.hpp"
#include "tones.hpp"

namespace burstloom::test {
namespace {

class Refusals : public SoundFiles {
 protected:
  void expect_refused(const std::string& file, const std::string& words) const {
    const Error error = error_of(file);
    EXPECT_EQ(error.fault(), Fault::bad_input) << error.what();
    EXPECT_NE(std::string(error.what()).find(words), std::string::npos) << error.what();
    EXPECT_EQ(std::string(error.what()).find('\n'), std::string::npos) << error.what();
  }

  [[nodiscard]] std::string tone_file(const std::string& name, int format, double length_s = 1.0) const {
    return write_sound(name, format, 44100, 1, sine(44100, length_s, 440.0).samples);
  }
};

void put_little_endian(Bytes& bytes, std::size_t at, std::uint32_t value) {
  for (std::size_t i = 0; i < 4; ++i) bytes.at(at + i) = static_cast<std::uint8_t>(value >> (8 * i));
}

TEST_F(Refusals, WhatIsNoSoundFileIsRefused) {
  expect_refused(path("missing.wav"), "there is no such file");
  expect_refused(std::filesystem::path(path("x")).parent_path().string(), "folder");
  expect_refused(write_text("empty.wav", ""), "no sound file");
  for (const char* name : {"words.wav", "words.flac", "words.mp3", "words.ogg", "words.raw", "words.vox",
                           "words.gsm", "words.txt"})
    expect_refused(write_text(name, std::string(3000, 'w')), "no sound file");
  expect_refused(write_text("header.wav", "RIFF\x24\x01\x01\x01WAVE"), "libsndfile says");
}

TEST_F(Refusals, APipeIsRefusedInsteadOfWaitedFor) {
  ASSERT_EQ(mkfifo(path("pipe.wav").c_str(), 0600), 0);
  expect_refused(path("pipe.wav"), "not a sound file");
  EXPECT_FALSE(looks_like_sound(path("pipe.wav")));
}

TEST_F(Refusals, ASoundWithoutSamplesIsRefused) {
  expect_refused(write_sound("none.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, 1, {}), "no samples");
  expect_refused(write_sound("none.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 44100, 1, {}), "");
}

TEST_F(Refusals, RatesOutsideEightTo192KilohertzAreRefused) {
  const std::vector<float> some(1000, 0.1F);
  expect_refused(write_sound("slow.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 7999, 1, some), "7999 Hz");
  expect_refused(write_sound("fast.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 192001, 1, some), "192001 Hz");
}

/// The total of samples in a FLAC's STREAMINFO: 36 bits from the middle of byte 21 (RFC 9639, section 8.2).
Bytes with_flac_total(Bytes bytes, std::uint64_t samples) {
  bytes.at(21) = static_cast<std::uint8_t>((bytes.at(21) & 0xF0) | ((samples >> 32) & 0x0F));
  for (std::size_t i = 0; i < 4; ++i) bytes.at(22 + i) = static_cast<std::uint8_t>(samples >> (8 * (3 - i)));
  return bytes;
}

TEST_F(Refusals, MoreThanSixHoursAreRefused) {
  const Bytes flac = read_file(tone_file("tone.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16));
  const std::uint64_t six_hours = std::uint64_t{6} * 3600 * 44100;
  expect_refused(write_bytes("long.flac", with_flac_total(flac, six_hours + 1)), "longer than six hours");
  EXPECT_EQ(read_sound(write_bytes("just.flac", with_flac_total(flac, six_hours))).samples.size(), 44100U);
}

// Seven hours of silence at 8 kHz, whose header does not say so.
TEST_F(Refusals, MoreThanSixHoursAreRefusedWhereTheLengthIsUnknown) {
  const std::vector<float> minutes(8000 * 600, 0.0F);
  SF_INFO info{};
  info.samplerate = 8000;
  info.channels = 1;
  info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_S8;
  SNDFILE* file = sf_open(path("silence.flac").c_str(), SFM_WRITE, &info);
  ASSERT_NE(file, nullptr);
  for (int n = 0; n < 42; ++n) sf_write_float(file, minutes.data(), static_cast<sf_count_t>(minutes.size()));
  sf_close(file);
  expect_refused(write_bytes("unknown.flac", with_flac_total(read_file(path("silence.flac")), 0)),
                 "longer than six hours");
}

TEST_F(Refusals, AnUnknownLengthIsReadToTheEnd) {
  const Bytes flac = read_file(tone_file("tone.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16));
  const Sound read = read_sound(write_bytes("unknown.flac", with_flac_total(flac, 0)));
  EXPECT_EQ(read.samples.size(), 44100U);
  EXPECT_TRUE(read.remarks.empty()) << read.remarks.front();
}

TEST_F(Refusals, ACutOffFileIsReadAsFarAsItGoesAndRemarkedOn) {
  const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_AIFF | SF_FORMAT_PCM_16,
                         SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
  for (const int format : formats) {
    const std::string whole = tone_file("whole", format);
    Bytes bytes = read_file(whole);
    bytes.resize(bytes.size() / 2);
    const Sound read = read_sound(write_bytes("half", bytes));
    EXPECT_NEAR(read.length_s(), 0.5, 0.11) << format;
    ASSERT_FALSE(read.remarks.empty()) << format;
    EXPECT_LT(std::abs(cents(hz_at(follow(read), 0.25), 440.0)), 3.0) << format;
  }
  for (const int format : {SF_FORMAT_OGG | SF_FORMAT_VORBIS, SF_FORMAT_OGG | SF_FORMAT_OPUS,
                           SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III}) {
    Bytes bytes = read_file(write_sound("whole", format, 48000, 1, sine(48000, 4.0, 440.0).samples));
    bytes.resize(bytes.size() * 3 / 4);
    const Sound read = read_sound(write_bytes("part", bytes));
    if ((format & SF_FORMAT_TYPEMASK) == SF_FORMAT_MPEG) {  // an OGG stream does not say its length
      ASSERT_FALSE(read.remarks.empty());
      EXPECT_NE(read.remarks[0].find("ends early"), std::string::npos) << read.remarks[0];
    }
    EXPECT_GT(read.length_s(), 0.5) << format;
    EXPECT_LT(read.length_s(), 4.1) << format;
  }
}

TEST_F(Refusals, AHeaderThatPromisesTooMuchCostsNoMemory) {
  Bytes bytes = read_file(tone_file("whole.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16));
  put_little_endian(bytes, 4, 0x7FFFFF00);
  put_little_endian(bytes, 40, 0x7FFFFEDC);
  const Sound read = read_sound(write_bytes("liar.wav", bytes));
  EXPECT_EQ(read.samples.size(), 44100U);
  EXPECT_LT(read.samples.capacity(), std::size_t{1} << 25);
}

TEST_F(Refusals, FirstBytesTellSoundFromOthers) {
  EXPECT_TRUE(looks_like_sound(write_text("id3.mp3", "ID3\x04")));
  EXPECT_TRUE(looks_like_sound(write_bytes("frame.mp3", {0xFF, 0xFB, 0x90, 0x64})));
  EXPECT_FALSE(looks_like_sound(write_bytes("reserved.mp3", {0xFF, 0xFB, 0xF0, 0x64})));
  EXPECT_FALSE(looks_like_sound(write_bytes("ff.bin", {0xFF, 0xFF, 0xFF, 0xFF})));
  EXPECT_FALSE(looks_like_sound(write_text("song.mid", "MThd")));
  EXPECT_FALSE(looks_like_sound(write_text("song.rmi", "RIFF....RMIDdata")));
  EXPECT_FALSE(looks_like_sound(write_text("short.wav", "RIFF")));
  EXPECT_FALSE(looks_like_sound(write_text("empty.wav", "")));
  EXPECT_FALSE(looks_like_sound(path("missing.wav")));
}

/// Changes a few bytes, mostly in the header, and now and then cuts the file.
Bytes mutated(const Bytes& whole, std::mt19937& random) {
  Bytes bytes = whole;
  const auto below = [&](std::size_t n) {
    return std::uniform_int_distribution<std::size_t>(0, n - 1)(random);
  };
  for (std::size_t changes = 1 + below(6); changes > 0; --changes) {
    const std::size_t reach = below(4) > 0 ? std::min<std::size_t>(bytes.size(), 120) : bytes.size();
    const std::uint8_t values[] = {0x00, 0xFF, 0x7F, 0x80, static_cast<std::uint8_t>(below(256))};
    bytes[below(reach)] = values[below(5)];
  }
  if (below(4) == 0) bytes.resize(below(bytes.size()) + 1);
  return bytes;
}

TEST_F(Refusals, MutatedFilesAreReadOrRefusedInOneSentence) {
  const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_16,         SF_FORMAT_WAVEX | SF_FORMAT_FLOAT,
                         SF_FORMAT_AIFF | SF_FORMAT_PCM_24,        SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
                         SF_FORMAT_OGG | SF_FORMAT_VORBIS,         SF_FORMAT_OGG | SF_FORMAT_OPUS,
                         SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III};
  std::mt19937 random(2026);
  int read = 0, refused = 0;
  for (const int format : formats) {
    const Bytes whole = read_file(write_sound("whole", format, 48000, 1, sine(48000, 0.1, 440.0).samples));
    for (int n = 0; n < 100; ++n) {
      const std::string file = write_bytes("mutant", mutated(whole, random));
      try {
        const Sound sound = read_sound(file);
        ++read;
        EXPECT_FALSE(sound.samples.empty());
        EXPECT_LT(sound.samples.size(), std::size_t{1} << 24);
        for (const float sample : sound.samples) ASSERT_TRUE(std::isfinite(sample));
        EXPECT_TRUE(n % 10 != 0 || !follow(sound).points.empty());
      } catch (const Error& error) {
        ++refused;
        EXPECT_EQ(error.fault(), Fault::bad_input) << error.what();
        EXPECT_EQ(std::string(error.what()).find('\n'), std::string::npos);
      }
    }
  }
  EXPECT_GT(read, 50);
  EXPECT_GT(refused, 50);
}

}  // namespace
}  // namespace burstloom::test
