#include "burstloom/preview/plain_tones.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr double kAttack_s = 0.005, kRelease_s = 0.030, kLongest_s = 6 * 3600.0;
constexpr int kHarmonics = 6;

// Adds one note; the fundamental turns once a sample, its powers are the harmonics.
void add_note(const Note& note, std::vector<float>& samples, int rate_hz) {
  const double hz = key_hz(note.key), rate = rate_hz;
  const int harmonics = std::min(kHarmonics, static_cast<int>(0.45 * rate / hz));
  const auto first = static_cast<std::size_t>(std::max(0.0, note.start_s) * rate);
  const auto past = std::min(samples.size(), static_cast<std::size_t>((note.end_s + kRelease_s) * rate));
  const std::complex<double> turn = std::polar(1.0, 2 * std::numbers::pi * hz / rate);
  std::complex<double> phase = 1;
  for (std::size_t i = first; i < past; ++i, phase *= turn) {
    const double since_s = static_cast<double>(i - first) / rate;
    const double left_s = note.end_s + kRelease_s - note.start_s - since_s;
    const double envelope = std::min({1.0, since_s / kAttack_s, left_s / kRelease_s});
    std::complex<double> harmonic = phase;
    double value = 0;
    for (int h = 1; h <= harmonics; ++h, harmonic *= phase) value += harmonic.imag() / h;
    samples[i] += static_cast<float>(note.velocity * note.velocity * std::max(0.0, envelope) * value);
  }
}

void hold_peaks(std::vector<float>& samples) {
  float highest = 0;
  for (const float sample : samples) highest = std::max(highest, std::abs(sample));
  if (highest <= 0) return;
  for (float& sample : samples) sample *= 0.9f / highest;
}

}  // namespace

Sound plain_tones(const Score& score, int rate_hz) {
  if (rate_hz < 8'000 || rate_hz > 48'000)
    throw Error(Fault::usage, "tones at " + std::to_string(rate_hz) + " Hz", "", "give 8000 to 48000 Hz");
  if (!(score.length_s <= kLongest_s))
    throw Error(Fault::usage, "the score is longer than six hours", score.title, "cut it into songs");
  Sound sound{.rate_hz = rate_hz, .samples = {}, .title = score.title, .remarks = {}};
  sound.samples.resize(static_cast<std::size_t>((score.length_s + kRelease_s) * rate_hz));
  for (const Note& note : score.notes)
    if (note.end_s > note.start_s && note.velocity > 0) add_note(note, sound.samples, rate_hz);
  hold_peaks(sound.samples);
  return sound;
}

Sound burst_tones(const BurstStream& stream) {
  constexpr int kRate_hz = 22'050;
  constexpr double kDecay = 1 / (0.001 * kRate_hz);  // a sample
  constexpr std::size_t kAudible = 160;              // samples, 63 dB down
  Sound sound{.rate_hz = kRate_hz, .samples = {}, .title = "", .remarks = {}};
  sound.samples.resize(static_cast<std::size_t>(stream.seconds(stream.length) * kRate_hz) + 1);
  for (const Burst& burst : stream.bursts) {
    const double at = stream.seconds(burst.start) * kRate_hz, height = stream.microseconds(burst.on) / 200;
    const auto first = static_cast<std::size_t>(std::ceil(at));
    for (std::size_t i = first; i < std::min(sound.samples.size(), first + kAudible); ++i)
      sound.samples[i] += static_cast<float>(height * std::exp(-(static_cast<double>(i) - at) * kDecay));
  }
  return sound;
}

}  // namespace burstloom
