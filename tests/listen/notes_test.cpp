// Notes heard in sounds whose notes are known; and the scorer by its published example.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "burstloom/listen/listen.hpp"
#include "burstloom/listen/transcription_score.hpp"

namespace burstloom {
namespace {

Note note(double start_s, double end_s, double hz) {
  return {.start_s = start_s, .end_s = end_s, .key = 69 + 12 * std::log2(hz / 440)};
}

// mir_eval, tests/test_transcription.py: the worked example of note tracking (MIREX 2015 rules).
TEST(TranscriptionScore, AgreesWithThePublishedExample) {
  const std::vector<Note> reference{note(.100, .300, 220), note(.300, .400, 246.942),
                                    note(.500, .600, 277.183), note(.550, .650, 293.665)};
  const std::vector<Note> estimated{note(.120, .290, 225), note(.300, .340, 246.942), note(.500, .600, 500),
                                    note(.550, .600, 293.665), note(.560, .650, 293.665)};
  const auto expect = [&](const NoteRules& rules, double precision, double recall, double f) {
    const auto scores = note_scores(reference, estimated, rules);
    EXPECT_NEAR(scores.precision, precision, 1e-6);
    EXPECT_NEAR(scores.recall, recall, 1e-6);
    EXPECT_NEAR(scores.f, f, 1e-6);
  };
  expect({.offset = true}, 0.4, 0.5, 0.444444);
  expect({}, 0.6, 0.75, 0.666667);
  expect({.pitch = false}, 0.8, 1, 0.888889);
  expect({.pitch = false, .onset = false, .offset = true}, 0.6, 0.75, 0.666667);
}

TEST(TranscriptionScore, OfFramesByHand) {
  // One second of A4, of which 0.8 s are heard, and 0.2 s of another note.
  const auto scores = frame_scores({note(0, 1, 440)}, {note(0, 0.8, 440), note(0.5, 0.7, 300)}, 1);
  EXPECT_NEAR(scores.recall, 0.8, 0.011);
  EXPECT_NEAR(scores.precision, 0.8, 0.011);
}

Sound silence(double seconds, int rate_hz = 44'100) {
  return {.rate_hz = rate_hz,
          .samples = std::vector<float>(static_cast<std::size_t>(seconds * rate_hz)),
          .title = "",
          .remarks = {}};
}

// Adds a tone with harmonics of these amplitudes, 5 ms to come and to go.
void add(Sound& sound, double start_s, double end_s, double hz, double amplitude,
         const std::vector<double>& harmonics) {
  for (auto i = static_cast<std::size_t>(start_s * sound.rate_hz);
       i < static_cast<std::size_t>(end_s * sound.rate_hz); ++i) {
    const double t = static_cast<double>(i) / sound.rate_hz;
    const double envelope = std::min({1.0, (t - start_s) / 0.005, (end_s - t) / 0.005});
    double value = 0;
    for (std::size_t h = 1; h <= harmonics.size(); ++h)
      if (static_cast<double>(h) * hz < 0.45 * sound.rate_hz)
        value += std::sin(2 * std::numbers::pi * static_cast<double>(h) * hz * t) * harmonics[h - 1];
    sound.samples[i] += static_cast<float>(amplitude * envelope * value);
  }
}

// The same with harmonics that fall with their number.
void add(Sound& sound, double start_s, double end_s, double hz, double amplitude, int harmonics) {
  std::vector<double> falling;
  for (int h = 1; h <= harmonics; ++h) falling.push_back(1.0 / h);
  add(sound, start_s, end_s, hz, amplitude, falling);
}

std::vector<Note> heard_in(const Sound& sound) {
  return std::get<Score>(listen_notes(sound)).notes;
}

// From A1 to C7, pure and with harmonics, a little out of tune: one note, its pitch within 3 cents.
TEST(Notes, OfSteadyTonesAreWithin3Cents) {
  for (const int harmonics : {1, 8})
    for (int key = 33; key <= 96; key += 3) {
      const double exact = key + 0.13;
      Sound sound = silence(1.5);
      add(sound, 0.25, 1.25, key_hz(exact), 0.3, harmonics);
      const auto heard = heard_in(sound);
      EXPECT_EQ(heard.size(), 1u) << key << ", " << harmonics << " harmonics";
      if (heard.size() != 1) continue;
      EXPECT_NEAR(heard[0].key, exact, 0.03) << key;
      EXPECT_NEAR(heard[0].start_s, 0.25, 0.03) << key;
      EXPECT_NEAR(heard[0].end_s, 1.25, 0.1) << key;
      EXPECT_EQ(heard[0].velocity, 1);
    }
}

TEST(Notes, OfTwoTonesAreTwo) {
  for (const auto& [low, high] :
       std::vector<std::pair<int, int>>{{57, 61}, {45, 69}, {60, 67}, {52, 77}, {64, 68}}) {
    Sound sound = silence(2);
    add(sound, 0.2, 1.8, key_hz(low), 0.2, 6);
    add(sound, 0.7, 1.5, key_hz(high), 0.2, 6);
    const auto scores = note_scores({note(0.2, 1.8, key_hz(low)), note(0.7, 1.5, key_hz(high))},
                                    heard_in(sound), {.offset = true});
    EXPECT_EQ(scores.f, 1) << low << " and " << high;
  }
}

// Three voices whose first harmonics are 8 to 20 dB under their strongest: reeds have such, by their formants
// (an oboe's near 1100 Hz, a bassoon's near 500 Hz: J. Meyer, Acoustics and the Performance of Music; from
// memory).
TEST(Notes, OfWeakFundamentalsAreAtTheirPitch) {
  const std::vector<double> second{0.1, 1, 0.1, 0.06, 0.06, 0.05, 0.02},
      odd{0.4, 0.05, 1, 0.05, 0.6, 0.05, 0.3}, fifth{0.2, 0.3, 0.5, 0.7, 1, 0.7, 0.4, 0.2};
  double f = 0;
  constexpr int kChords = 8;
  for (int chord = 0; chord < kChords; ++chord) {
    Sound sound = silence(1.7);
    add(sound, 0.25, 1.25, key_hz(69 + chord), 0.1, second);
    add(sound, 0.35, 1.35, key_hz(60 - chord), 0.1, odd);
    add(sound, 0.45, 1.45, key_hz(43 + chord), 0.1, fifth);
    f += note_scores({note(0.25, 1.25, key_hz(69 + chord)), note(0.35, 1.35, key_hz(60 - chord)),
                      note(0.45, 1.45, key_hz(43 + chord))},
                     heard_in(sound), {})
             .f /
         kChords;
  }
  EXPECT_GE(f, 0.95);
}

TEST(Notes, StruckAgainAreSeveral) {
  Sound sound = silence(3);
  for (int i = 0; i < 5; ++i) add(sound, 0.25 + 0.5 * i, 0.70 + 0.5 * i, 440, 0.3, 5);
  const auto heard = heard_in(sound);
  ASSERT_EQ(heard.size(), 5u);
  for (std::size_t i = 0; i < 5; ++i)
    EXPECT_NEAR(heard[i].start_s, 0.25 + 0.5 * static_cast<double>(i), 0.035);
}

// Two octaves in four seconds: at every moment the note that is nearest, give or take one.
TEST(Notes, OfAGlissandoFollowIt) {
  Sound sound = silence(4.5);
  double phase = 0;
  const auto key_at = [](double t) { return 57 + 6 * (t - 0.25); };
  for (auto i = static_cast<std::size_t>(0.25 * 44'100); i < static_cast<std::size_t>(4.25 * 44'100); ++i) {
    phase += 2 * std::numbers::pi * key_hz(key_at(static_cast<double>(i) / 44'100)) / 44'100;
    sound.samples[i] =
        static_cast<float>(0.3 * (std::sin(phase) + std::sin(2 * phase) / 2 + std::sin(3 * phase) / 3));
  }
  const auto heard = heard_in(sound);
  int near = 0, frames = 0;
  for (double t = 0.35; t < 4.15; t += 0.01, ++frames)
    near += std::any_of(heard.begin(), heard.end(), [&](const Note& it) {
      return it.start_s <= t && t < it.end_s && std::abs(it.key - key_at(t)) <= 1.2;
    });
  EXPECT_GT(near, 0.9 * frames);
}

TEST(Notes, OfSilenceAndNoiseAreNone) {
  EXPECT_TRUE(heard_in(silence(1)).empty());
  EXPECT_TRUE(heard_in(silence(0)).empty());
  for (const unsigned seed : {1u, 2u, 3u}) {
    Sound sound = silence(3);
    std::mt19937 dice(seed);
    std::normal_distribution<float> noise(0, 0.1f);
    for (float& sample : sound.samples) sample = noise(dice);
    EXPECT_TRUE(heard_in(sound).empty()) << heard_in(sound).size() << " notes in noise";
  }
}

TEST(Notes, DoNotDependOnLevelOrRate) {
  for (const int rate_hz : {8'000, 16'000, 44'100, 96'000})
    for (const double amplitude : {0.3, 0.01}) {
      Sound sound = silence(2, rate_hz);
      add(sound, 0.2, 0.9, 220, amplitude, 6);
      add(sound, 1.0, 1.8, 330, amplitude, 6);
      EXPECT_EQ(note_scores({note(0.2, 0.9, 220), note(1.0, 1.8, 330)}, heard_in(sound), {.offset = true}).f,
                1)
          << rate_hz << " Hz, " << amplitude;
    }
}

TEST(Notes, SayTheirPart) {
  Sound sound = silence(2);
  add(sound, 0.2, 1.8, key_hz(48), 0.2, 6);
  add(sound, 0.3, 1.8, key_hz(64), 0.2, 6);
  add(sound, 0.4, 1.8, key_hz(79), 0.2, 6);
  const auto heard = heard_in(sound);
  ASSERT_EQ(heard.size(), 3u);
  EXPECT_EQ(heard[2].part, Part::lead);
  EXPECT_EQ(heard[2].channel, 0);
}

// Bright noise every quarter of a second, a dull thump with every second one, under a held tone.
TEST(Notes, OfDrumsAreHits) {
  Sound sound = silence(4);
  std::mt19937 dice(5);
  std::normal_distribution<float> noise(0, 0.1f);
  add(sound, 0.1, 3.9, 440, 0.05, 5);
  const auto rate = static_cast<double>(sound.rate_hz);
  for (int hit = 0; hit < 14; ++hit)
    for (std::size_t i = 0; i < 4'000; ++i) {
      const double t = static_cast<double>(i) / rate;
      float& sample = sound.samples[static_cast<std::size_t>((0.25 + 0.25 * hit) * rate) + i];
      sample += noise(dice) * static_cast<float>(std::exp(-t / 0.015));
      if (hit % 2 == 0)
        sample += static_cast<float>(0.5 * std::exp(-t / 0.02) * std::sin(2 * std::numbers::pi * 70 * t));
    }
  std::vector<double> bright, dull;
  for (const Note& it : heard_in(sound))
    if (it.part == Part::drums) (it.key == 42 ? bright : dull).push_back(it.start_s);
  ASSERT_EQ(bright.size(), 14u);
  ASSERT_EQ(dull.size(), 7u);
  for (std::size_t i = 0; i < 14; ++i) EXPECT_NEAR(bright[i], 0.25 + 0.25 * static_cast<double>(i), 0.02);
  for (std::size_t i = 0; i < 7; ++i) EXPECT_NEAR(dull[i], 0.25 + 0.5 * static_cast<double>(i), 0.03);
}

}  // namespace
}  // namespace burstloom
