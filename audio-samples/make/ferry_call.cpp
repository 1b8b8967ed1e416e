// The ferry call: somebody on the quay sings the last boat in. One line, as a voice makes it: a pulse-like
// source, the resonances of vowels, vibrato that comes late, slides between notes, breaths between phrases.
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "sound.hpp"

namespace samples {
namespace {

constexpr double kTurn = 2 * std::numbers::pi;

struct Formant {
  double hz, bandwidth_hz, gain;
};
using Vowel = std::array<Formant, 3>;

// Rounded centre frequencies of spoken vowels, common knowledge of phonetics, from memory.
constexpr Vowel kAh = {{{730, 90, 1.0}, {1100, 110, 0.5}, {2450, 160, 0.12}}};
constexpr Vowel kOh = {{{500, 80, 1.0}, {850, 100, 0.4}, {2400, 160, 0.06}}};
constexpr Vowel kEe = {{{320, 70, 1.0}, {2200, 150, 0.25}, {2900, 180, 0.15}}};

struct Sung {
  double start_s, length_s, key, loudness;
  Vowel vowel;
};

// D minor, three phrases of a call and an answer; a gap before each is filled by a breath.
const std::vector<Sung>& melody() {
  static const std::vector<Sung> notes = {
      {0.60, 0.70, 62, 0.7, kOh},  {1.30, 1.40, 69, 1.0, kAh},  {2.70, 0.50, 67, 0.8, kAh},
      {3.20, 0.50, 65, 0.8, kEe},  {3.70, 1.60, 64, 0.7, kOh},  {6.10, 0.60, 65, 0.7, kOh},
      {6.70, 0.60, 67, 0.8, kAh},  {7.30, 1.80, 72, 1.0, kAh},  {9.10, 0.50, 70, 0.8, kEe},
      {9.60, 0.50, 69, 0.8, kEe},  {10.10, 1.50, 67, 0.7, kOh}, {12.60, 0.45, 69, 0.8, kAh},
      {13.05, 0.45, 67, 0.8, kAh}, {13.50, 0.45, 65, 0.8, kEe}, {13.95, 0.45, 64, 0.8, kEe},
      {14.40, 1.30, 65, 0.9, kAh}, {15.70, 0.60, 64, 0.7, kOh}, {16.30, 2.70, 62, 0.8, kOh}};
  return notes;
}

bool joins_the_last(std::size_t index) {
  return index > 0 &&
         melody()[index].start_s - melody()[index - 1].start_s - melody()[index - 1].length_s < 0.05;
}

// The key that the voice has `t` seconds into a note: a slide of 0.12 s from the note before, then vibrato.
double sung_key(std::size_t index, double t) {
  const Sung& note = melody()[index];
  const double from = joins_the_last(index) ? melody()[index - 1].key : note.key - 1.5;
  const double slide = std::exp(-t / 0.035);
  const double vibrato = 0.35 * std::clamp((t - 0.35) / 0.5, 0.0, 1.0) * std::sin(kTurn * 5.4 * t);
  return note.key + (from - note.key) * slide + vibrato;
}

double response(const Vowel& vowel, double hz) {
  double sum = 0;
  for (const Formant& formant : vowel) {
    const double off = (hz - formant.hz) / formant.bandwidth_hz;
    sum += formant.gain / std::sqrt(1 + off * off);
  }
  return sum;
}

// Loudness of the whole phrase's line: notes that join do not start anew.
double loudness(std::size_t index, double t) {
  const Sung& note = melody()[index];
  const bool next_joins = index + 1 < melody().size() && joins_the_last(index + 1);
  const double last = joins_the_last(index) ? melody()[index - 1].loudness : 0;
  const double rise = std::min(1.0, t / (last > 0 ? 0.1 : 0.06));
  const double fall = next_joins ? 1.0 : std::clamp((note.length_s - t) / 0.18, 0.0, 1.0);
  return (last + (note.loudness - last) * rise) * fall;
}

void sing(Sound& sound) {
  double phase = 0;
  Noise air;
  for (std::size_t index = 0; index < melody().size(); ++index) {
    const Sung& note = melody()[index];
    const std::size_t start = at_sample(note.start_s), end = at_sample(note.start_s + note.length_s);
    for (std::size_t i = start; i < end; ++i) {
      const double t = static_cast<double>(i - start) / kRate;
      const double hz = hertz(sung_key(index, t));
      phase += hz / kRate;
      phase -= std::floor(phase);
      double value = 0.01 * air.next();
      // The voice's source falls by about 12 dB an octave and radiation gives 6 of them back: 1 / harmonic.
      for (int harmonic = 1; harmonic * hz < 5000; ++harmonic)
        value += response(note.vowel, harmonic * hz) / harmonic * std::sin(kTurn * harmonic * phase);
      sound[i] += loudness(index, t) * value;
    }
  }
}

void breathe(Sound& sound, double start_s, double length_s) {
  Noise air;
  double low = 0, lower = 0;
  for (std::size_t i = at_sample(start_s); i < at_sample(start_s + length_s); ++i) {
    const double t = static_cast<double>(i) / kRate - start_s;
    low += 0.35 * (air.next() - low);
    lower += 0.06 * (low - lower);
    sound[i] += 0.12 * swell(t, length_s, length_s * 0.7, length_s * 0.2) * (low - lower);
  }
}

}  // namespace

Sound ferry_call() {
  Sound sound(at_sample(20.0), 0.0);
  sing(sound);
  for (const double start_s : {0.15, 5.60, 12.05}) breathe(sound, start_s, 0.42);
  return sound;
}

}  // namespace samples
