// A sung-like line of our own with known pitch: vowels with formants, vibrato, slides, an octave leap, breath
// and hissing consonants. Judged as melody extraction is: raw pitch accuracy is the share of voiced reference
// frames (every 10 ms) whose estimate lies within 50 cents, strictly (mir_eval 0.7,
// melody.raw_pitch_accuracy, strict; the definition is that of the MIREX audio melody extraction task). A
// frame that we call unvoiced counts as missed.
#include <gtest/gtest.h>

#include <iostream>
#include <random>

#include "tones.hpp"

namespace burstloom::test {
namespace {

constexpr int rate_hz = 44100;

struct Sung {
  double start_s, end_s, key;
  bool slides_from_before;
};

/// Rests of 0.25 s or so, with a consonant before each third note; a low, a middle and a high voice by
/// `shift`.
std::vector<Sung> line(double shift) {
  return {{0.30, 0.90, 57 + shift, false}, {0.90, 1.30, 60 + shift, true},  {1.30, 2.10, 64 + shift, true},
          {2.40, 2.55, 62 + shift, false}, {2.55, 2.70, 60 + shift, false}, {2.70, 3.40, 69 + shift, false},
          {3.65, 4.05, 57 + shift, false}, {4.05, 4.45, 69 + shift, false}, {4.45, 5.30, 65 + shift, true},
          {5.60, 5.72, 64 + shift, false}, {5.72, 5.84, 65 + shift, false}, {5.84, 5.96, 67 + shift, false},
          {5.96, 7.20, 57 + shift, true}};
}
constexpr double line_length_s = 7.6;

/// The true pitch: slides take 80 ms, vibrato of 5.5 Hz and 60 cents sets in after 0.2 s. 0 in rests.
double true_hz(const std::vector<Sung>& notes, double t) {
  for (std::size_t i = 0; i < notes.size(); ++i) {
    const Sung& note = notes[i];
    if (t < note.start_s || t >= note.end_s) continue;
    const double since = t - note.start_s;
    double key = note.key;
    if (note.slides_from_before && since < 0.08)
      key = notes[i - 1].key +
            (note.key - notes[i - 1].key) * 0.5 * (1.0 - std::cos(std::numbers::pi * since / 0.08));
    if (since > 0.2) key += 0.6 * std::sin(two_pi * 5.5 * (since - 0.2));
    return 440.0 * std::exp2((key - 69.0) / 12.0);
  }
  return 0;
}

/// A vowel's envelope over frequency: three resonances over a falling source.
double formants(double hz) {
  double sum = 0.05;
  for (const double centre : {650.0, 1080.0, 2650.0}) {
    const double off = (hz - centre) / 120.0;
    sum += 1.0 / (1.0 + off * off);
  }
  return sum * 200.0 / (200.0 + hz);
}

/// Loudness of the voice: swells in over 20 ms and dies out over 30 ms at rests.
double loudness(const std::vector<Sung>& notes, double t) {
  double loud = 0;
  for (const Sung& note : notes)
    if (t >= note.start_s && t < note.end_s)
      loud = std::min({1.0, 0.2 + (t - note.start_s) / 0.02, 0.2 + (note.end_s - t) / 0.03});
  return loud;
}

struct Room {
  double breath;  ///< noise, as a share of the voice's peak
  double echo;    ///< first echo's gain
};

Sound sing(const std::vector<Sung>& notes, Room room) {
  std::mt19937 random(20);
  std::normal_distribution<double> noise;
  double phase = 0;
  Sound sound = sampled(rate_hz, line_length_s, [&](double t) {
    const double hz = true_hz(notes, t);
    phase += two_pi * hz / rate_hz;
    double voice = 0;
    for (int h = 1; hz > 0 && h <= 24; ++h) voice += formants(h * hz) * std::sin(h * phase);
    const bool hiss = hz <= 0 && t > 2.25 && t < 2.38;
    return 0.25 * loudness(notes, t) * voice + (0.25 * room.breath + (hiss ? 0.08 : 0.0)) * noise(random);
  });
  const auto delay = static_cast<std::size_t>(0.037 * rate_hz);
  for (std::size_t n = delay; n < sound.samples.size(); ++n)
    sound.samples[n] += static_cast<float>(room.echo) * sound.samples[n - delay];
  return sound;
}

struct Figures {
  double raw_pitch, raw_chroma, voicing_recall, false_alarm;
};

Figures judge(const std::vector<Sung>& notes, const PitchTrack& track) {
  double sung = 0, right = 0, right_chroma = 0, recalled = 0, silent = 0, false_alarms = 0;
  for (double t = 0; t < line_length_s; t += 0.01) {
    const double truth = true_hz(notes, t), heard = hz_at(track, t);
    if (truth <= 0) {
      silent += 1;
      false_alarms += heard > 0;
      continue;
    }
    sung += 1;
    recalled += heard > 0;
    if (heard <= 0) continue;
    const double off = cents(heard, truth);
    right += std::abs(off) < 50.0;
    right_chroma += std::abs(off - 1200.0 * std::floor(off / 1200.0 + 0.5)) < 50.0;
  }
  return {right / sung, right_chroma / sung, recalled / sung, false_alarms / silent};
}

struct Case {
  const char* name;
  double shift;
  Room room;
  double least_raw_pitch, most_false_alarm;
};

TEST(FollowLine, ASungLineIsFollowedWithinAQuarterTone) {
  const Case cases[] = {{"low, dry", -12, {0, 0}, 0.97, 0.10},
                        {"middle, dry", 0, {0, 0}, 0.97, 0.10},
                        {"high, dry", 12, {0, 0}, 0.97, 0.10},
                        {"middle, breathy", 0, {0.03, 0}, 0.97, 0.10},
                        {"middle, in a small room", 0, {0.003, 0.25}, 0.95, 0.60}};
  for (const Case& c : cases) {
    const std::vector<Sung> notes = line(c.shift);
    const Figures f = judge(notes, follow(sing(notes, c.room)));
    std::cout << c.name << ": raw pitch " << f.raw_pitch << ", raw chroma " << f.raw_chroma
              << ", voicing recall " << f.voicing_recall << ", voicing false alarm " << f.false_alarm << "\n";
    EXPECT_GE(f.raw_pitch, c.least_raw_pitch) << c.name;
    EXPECT_LE(f.false_alarm, c.most_false_alarm) << c.name;
  }
}

}  // namespace
}  // namespace burstloom::test
