// The spectrum of a written gate against the Fourier coefficients of a rectangular train in closed form:
// height 1, duty D, harmonic n has the peak amplitude 2 |sin(pi n D)| / (pi n). Figures computed from that
// form; the form itself is in any handbook of Fourier series (from memory, no one edition read).
#include <gtest/gtest.h>
#include <kissfft/kiss_fft.h>
#include <sndfile.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "burstloom/stream/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

std::vector<float> gate_sound(const BurstStream& stream, int rate) {
  const test::Folder folder;
  write_wav_gate(stream, rate, folder.file("g.wav"));
  SF_INFO info{};
  SNDFILE* file = sf_open(folder.file("g.wav").c_str(), SFM_READ, &info);
  std::vector<float> samples(static_cast<std::size_t>(info.frames));
  EXPECT_EQ(sf_read_float(file, samples.data(), info.frames), info.frames);
  sf_close(file);
  return samples;
}

// Peak amplitudes of the bins, the mean in bin 0. Full scale is 32767/32768.
std::vector<double> amplitudes(const std::vector<float>& samples) {
  std::vector<kiss_fft_cpx> in(samples.size()), out(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i) in[i] = {samples[i] * (32768.0f / 32767.0f), 0.0f};
  kiss_fft_cfg plan = kiss_fft_alloc(static_cast<int>(samples.size()), 0, nullptr, nullptr);
  kiss_fft(plan, in.data(), out.data());
  kiss_fft_free(plan);
  std::vector<double> result;
  for (const auto& bin : out)
    result.push_back((result.empty() ? 1.0 : 2.0) * std::hypot(bin.r, bin.i) /
                     static_cast<double>(samples.size()));
  return result;
}

BurstStream train(std::int64_t tick_hz, Tick period, Tick on, int count) {
  BurstStream stream{tick_hz, period * count, {}};
  for (int i = 0; i < count; ++i) stream.bursts.push_back({i * period, on});
  return stream;
}

double decibels(double amplitude) {
  return 20.0 * std::log10(amplitude);
}

// 440 Hz with bursts of 100 us, the duty 0.044. A tick rate of 4.4 MHz puts both the period (10 000 ticks)
// and the burst (440 ticks) on ticks, and the WAV has the tick rate.
TEST(Spectrum, A440HzTrainOf100us) {
  const std::vector<double> wanted_db{-21.138, -21.221, -21.361, -21.558, -21.813, -22.130, -22.511, -22.959};
  constexpr int kPeriods = 8;
  const auto bins = amplitudes(gate_sound(train(4'400'000, 10'000, 440, kPeriods), 4'400'000));
  EXPECT_NEAR(bins[0], 0.044, 1e-6);
  for (std::size_t n = 1; n <= wanted_db.size(); ++n)
    EXPECT_NEAR(decibels(bins[n * kPeriods]), wanted_db[n - 1], 0.1) << n;
}

struct DutyRow {
  double duty;
  std::vector<double> harmonics;
};

TEST(Spectrum, HarmonicsOfManyDuties) {
  const std::vector<DutyRow> rows{
      {0.01, {.019997, .019987, .019970, .019947}},
      {0.05, {.099589, .098363, .096340, .093549, .090032}},
      {0.1, {.196726, .187098, .171679, .151365, .127324, .100910, .073577, .046774, .021858, 0}},
      {0.25, {.450158, .318310, .150053, 0, .090032}},
      {0.5, {.636620, 0, .212207, 0, .127324}}};
  constexpr int kPeriods = 4;
  constexpr Tick kPeriod = 4000;  // 500 Hz
  for (const auto& [duty, harmonics] : rows) {
    const auto on = static_cast<Tick>(std::lround(duty * static_cast<double>(kPeriod)));
    const auto bins = amplitudes(gate_sound(train(2'000'000, kPeriod, on, kPeriods), 2'000'000));
    EXPECT_NEAR(bins[0], duty, 1e-6);
    for (std::size_t n = 1; n <= harmonics.size(); ++n) {
      const double got = bins[n * kPeriods];
      if (harmonics[n - 1] == 0) {
        EXPECT_LT(got, 1e-5) << "a null, duty " << duty << ", harmonic " << n;
        continue;
      }
      EXPECT_NEAR(decibels(got), decibels(harmonics[n - 1]), 0.1) << "duty " << duty << ", harmonic " << n;
    }
  }
}

// What lies between the harmonics of an exact train is nothing: no edge has been moved.
TEST(Spectrum, NothingLiesBetweenTheHarmonics) {
  constexpr std::size_t kPeriods = 8;
  const auto bins = amplitudes(gate_sound(train(2'000'000, 5000, 250, kPeriods), 2'000'000));
  for (std::size_t i = 1; i < 20 * kPeriods; ++i) {
    if (i % kPeriods != 0) {
      EXPECT_LT(bins[i], 1e-6) << i;
    }
  }
}

// Parseval: the mean square of a gate is its duty.
TEST(Spectrum, TheMeanSquareIsTheDuty) {
  const auto samples = gate_sound(train(2'000'000, 4000, 400, 4), 2'000'000);
  const auto bins = amplitudes(samples);
  double power = bins[0] * bins[0];
  for (std::size_t i = 1; i < bins.size(); ++i) power += bins[i] * bins[i] / 4;
  EXPECT_NEAR(power, 0.1, 1e-5);
}

}  // namespace
}  // namespace burstloom
