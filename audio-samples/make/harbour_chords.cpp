// Harbour chords: three voices on one old instrument, first plucked one after another, then held like an
// organ.
#include <array>
#include <cmath>
#include <numbers>

#include "sound.hpp"

namespace samples {
namespace {

constexpr double kTurn = 2 * std::numbers::pi;
using Chord = std::array<int, 3>;

// D minor, home by way of the subdominant; common tones stay, the other voices move by step where they can.
constexpr std::array<Chord, 5> kPlucked = {
    {{50, 62, 65}, {46, 62, 65}, {53, 60, 69}, {48, 60, 67}, {45, 61, 64}}};
constexpr std::array<Chord, 5> kHeld = {
    {{50, 57, 65}, {55, 58, 62}, {53, 57, 60}, {57, 61, 64}, {50, 62, 66}}};

// A string: the upper parts start weaker and die sooner.
void pluck(Sound& sound, double start_s, double length_s, int key, double loudness) {
  const std::size_t start = at_sample(start_s);
  for (std::size_t i = start; i < at_sample(start_s + length_s) && i < sound.size(); ++i) {
    const double t = static_cast<double>(i - start) / kRate;
    double value = 0;
    for (int part = 1; part <= 10 && part * hertz(key) < 6000; ++part)
      value += std::exp(-t * (1.1 + 0.9 * part)) / part * std::sin(kTurn * part * hertz(key) * t);
    sound[i] += loudness * value * swell(t, length_s, 0.004, 0.08);
  }
}

// A pipe: few parts, steady.
void hold(Sound& sound, double start_s, double length_s, int key, double loudness) {
  constexpr std::array<double, 6> kParts = {1.0, 0.5, 0.22, 0.16, 0.05, 0.04};
  const std::size_t start = at_sample(start_s);
  for (std::size_t i = start; i < at_sample(start_s + length_s) && i < sound.size(); ++i) {
    const double t = static_cast<double>(i - start) / kRate;
    double value = 0;
    for (std::size_t part = 0; part < kParts.size(); ++part)
      value += kParts[part] * std::sin(kTurn * static_cast<double>(part + 1) * hertz(key) * t);
    sound[i] += loudness * value * swell(t, length_s, 0.05, 0.15);
  }
}

}  // namespace

Sound harbour_chords() {
  Sound sound(at_sample(20.0), 0.0);
  for (std::size_t i = 0; i < kPlucked.size(); ++i) {
    const double start = 0.25 + 1.8 * static_cast<double>(i);
    for (std::size_t voice = 0; voice < 3; ++voice) {
      pluck(sound, start + 0.3 * static_cast<double>(voice), 0.9, kPlucked[i][voice], 0.8);
      pluck(sound, start + 0.9, 0.9, kPlucked[i][voice], 1.0);
    }
  }
  for (std::size_t i = 0; i < kHeld.size(); ++i) {
    const double start = 9.5 + 2.0 * static_cast<double>(i);
    const double length = i + 1 == kHeld.size() ? 2.2 : 1.9;
    for (const int key : kHeld[i]) hold(sound, start, length, key, 0.45);
  }
  return sound;
}

}  // namespace samples
