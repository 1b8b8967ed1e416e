// Sounds in blocks: what is heard does not depend on their size, and long ones need little memory.
#include <sys/resource.h>

#include <filesystem>
#include <random>

#include "burstloom/listen/likeness.hpp"
#include "burstloom/listen/sound_file.hpp"
#include "burstloom/score/score.hpp"
#include "sound_files.hpp"
#include "tones.hpp"

namespace burstloom::test {
namespace {

class Blocks : public SoundFiles {};

// Chords, a melody over them, hits of noise and a pause: what each way of listening has to do with.
Sound piece(int rate_hz, double length_s) {
  std::mt19937 dice(11);
  std::uniform_real_distribution<double> noise(-1, 1);
  return sampled(rate_hz, length_s, [&](double t) {
    const int step = static_cast<int>(t / 0.4);
    const double since = t - 0.4 * step;
    double sum = 0.3 * noise(dice) * std::exp(-since / 0.01);
    if (step % 9 == 8) return 0.05 * sum;
    for (const int key : {48 + step / 4 % 3 * 2, 55 + step / 4 % 3 * 2, 67 + step * 5 % 12})
      for (int h = 1; h <= 5; ++h) sum += std::exp(-2 * since) / h * std::sin(two_pi * h * key_hz(key) * t);
    return 0.1 * sum + 0.02;
  });
}

void expect_same(const Heard& a, const Heard& b) {
  ASSERT_EQ(a.index(), b.index());
  if (const auto* score = std::get_if<Score>(&a)) {
    const auto& other = std::get<Score>(b).notes;
    ASSERT_EQ(score->notes.size(), other.size());
    for (std::size_t i = 0; i < other.size(); ++i) {
      const Note &x = score->notes[i], &y = other[i];
      EXPECT_EQ(std::tie(x.start_s, x.end_s, x.key, x.velocity, x.channel, x.part),
                std::tie(y.start_s, y.end_s, y.key, y.velocity, y.channel, y.part))
          << i;
    }
  } else if (const auto* track = std::get_if<PitchTrack>(&a)) {
    const auto& other = std::get<PitchTrack>(b).points;
    ASSERT_EQ(track->points.size(), other.size());
    for (std::size_t i = 0; i < other.size(); ++i) {
      EXPECT_EQ(track->points[i].hz, other[i].hz) << i;
      EXPECT_EQ(track->points[i].strength, other[i].strength) << i;
    }
  } else {
    const auto &moments = std::get<Moments>(a).moments, &other = std::get<Moments>(b).moments;
    ASSERT_EQ(moments.size(), other.size());
    for (std::size_t i = 0; i < other.size(); ++i) EXPECT_EQ(moments[i].at_s, other[i].at_s) << i;
  }
}

std::size_t heard_things(const Heard& heard) {
  if (const auto* score = std::get_if<Score>(&heard)) return score->notes.size();
  if (const auto* track = std::get_if<PitchTrack>(&heard)) return voiced_points(*track);
  return std::get<Moments>(heard).moments.size();
}

TEST_F(Blocks, OfAnySizeAreHeardAlike) {
  for (const int rate_hz : {16'000, 44'100}) {
    const Sound sound = piece(rate_hz, 25);
    const auto second = static_cast<std::size_t>(rate_hz);
    for (const WayOfListening& way : ways_of_listening()) {
      const Heard whole = way.listen(HeldSound(sound));
      EXPECT_GT(heard_things(whole), 50U);
      for (const std::size_t block : {std::size_t{777}, second, 10 * second}) {
        SCOPED_TRACE(std::string(way.name) + " in blocks of " + std::to_string(block));
        expect_same(whole, way.listen(HeldSound(sound, block)));
      }
    }
  }
}

TEST_F(Blocks, OfAFileAreWhatItHolds) {
  const Sound sound = piece(44'100, 6);
  const std::string path =
      write_sound("piece.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 44'100, 1, sound.samples);
  const SoundFile file(path);
  const Sound read = read_sound(path);
  EXPECT_EQ(file.figures().samples, static_cast<std::int64_t>(read.samples.size()));
  expect_same(listen_notes(read), listen_notes(file));
  expect_same(listen_follow(read), listen_follow(file));
}

// Decoding takes longer than much of listening: what is short is decoded once.
TEST_F(Blocks, OfAShortFileAreHeld) {
  const Sound sound = piece(44'100, 3);
  const std::string path =
      write_sound("short.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 44'100, 1, sound.samples);
  const std::vector<float> before = read_sound(path).samples;
  const SoundFile file(path);
  ASSERT_TRUE(std::filesystem::remove(path));
  EXPECT_EQ(samples_of(file), before);
}

// The largest that this program has been so far, in MB.
double most_memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

// A sound of any length that nobody holds: a tone of half a second every two seconds.
class Endless : public SoundSource {
 public:
  explicit Endless(double length_s) {
    figures_ = {.samples = std::llround(length_s * kRate_hz), .offset = 0, .rms = 0.1, .peak = 0.3};
  }
  [[nodiscard]] int rate_hz() const override { return kRate_hz; }
  [[nodiscard]] const SoundFigures& figures() const override { return figures_; }
  [[nodiscard]] std::unique_ptr<SoundReader> reader() const override {
    return std::make_unique<Reader>(figures_.samples);
  }

 private:
  static constexpr int kRate_hz = 8'000;
  class Reader : public SoundReader {
   public:
    explicit Reader(std::int64_t left) : left_(left) {}
    std::span<const float> next() override {
      const auto count = std::min<std::int64_t>(left_, static_cast<std::int64_t>(block_.size()));
      for (std::int64_t i = 0; i < count; ++i, ++at_) {
        const double t = static_cast<double>(at_) / kRate_hz, since = std::fmod(t, 2.0);
        block_[static_cast<std::size_t>(i)] =
            static_cast<float>(since < 0.5 ? 0.3 * std::exp(-3 * since) *
                                                 (std::sin(two_pi * 440 * t) + std::sin(two_pi * 880 * t) / 2)
                                           : 0.0);
      }
      left_ -= count;
      return std::span<const float>(block_).first(static_cast<std::size_t>(count));
    }

   private:
    std::int64_t left_, at_ = 0;
    std::vector<float> block_ = std::vector<float>(30'000);
  };
  SoundFigures figures_;
};

#ifdef BURSTLOOM_SANITIZED
constexpr double kSlack = 4;
#else
constexpr double kSlack = 1;
#endif

// Twenty minutes, whose samples with all weights and levels of pitches would be 140 MB.
TEST_F(Blocks, ThatAreManyAreHeardInLittleMemory) {
  constexpr double kLong_s = 1'200, kMost_mb = 60 * kSlack;
  const double before_mb = most_memory_mb();
  const Endless sound(kLong_s);
  const auto notes = std::get<Score>(listen_notes(sound)).notes;
  ASSERT_EQ(notes.size(), static_cast<std::size_t>(kLong_s / 2));
  for (std::size_t i = 0; i < notes.size(); ++i) {
    EXPECT_NEAR(notes[i].start_s, 2.0 * static_cast<double>(i), 0.035);
    EXPECT_NEAR(notes[i].key, 69, 0.05);
  }
  EXPECT_LT(most_memory_mb() - before_mb, kMost_mb);
}

// Five hours at 8 kHz: 576 MB of samples.
TEST_F(Blocks, OfFilesHoursLongAreReadInLittleMemory) {
  SF_INFO info{};
  info.samplerate = 8'000;
  info.channels = 1;
  info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
  SNDFILE* out = sf_open(path("hours.flac").c_str(), SFM_WRITE, &info);
  ASSERT_NE(out, nullptr);
  const auto write = [&](double seconds, double amplitude) {
    const auto samples = sine(8'000, seconds, 440, amplitude).samples;
    EXPECT_EQ(sf_write_float(out, samples.data(), static_cast<sf_count_t>(samples.size())),
              static_cast<sf_count_t>(samples.size()));
  };
  write(60, 0);
  for (int minute = 1; minute < 299; ++minute) write(60, minute % 60 == 1 ? 0.5 : 0.001);
  write(60, 0);
  sf_close(out);
  const double before_mb = most_memory_mb();
  const Recording recording(path("hours.flac"));
  EXPECT_NEAR(recording.left_out_before_s(), 59.9, 0.011);
  EXPECT_NEAR(recording.left_out_after_s(), 18'000 - recording.length_s() - 59.9, 0.011);
  std::int64_t samples = 0;
  const auto reader = recording.reader();
  for (auto block = reader->next(); !block.empty(); block = reader->next())
    samples += static_cast<std::int64_t>(block.size());
  EXPECT_EQ(samples, recording.figures().samples);
  EXPECT_LT(most_memory_mb() - before_mb, 20 * kSlack);
}

}  // namespace
}  // namespace burstloom::test
