// The sound sketch against the closed form of its own law (header of sound_sketch.hpp), and free of aliases.
#include "burstloom/preview/sound_sketch.hpp"

#include <gtest/gtest.h>
#include <kissfft/kiss_fft.h>

#include <algorithm>
#include <limits>
#include <string>

#include "../stream/stream_support.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

using test::burst_sound_spectrum;
using test::decibels;
using test::scattered;
using test::train;
using test::transform;

std::vector<float> all_of(SoundSketch& sketch, std::size_t block = 4096) {
  std::vector<float> samples(static_cast<std::size_t>(sketch.samples()) + 100);
  std::size_t done = 0;
  while (const std::size_t count =
             sketch.read(std::span(samples).subspan(done, std::min(block, samples.size() - done))))
    done += count;
  samples.resize(done);
  return samples;
}

std::vector<float> sketched(const BurstStream& stream, const SketchOptions& options = {}) {
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz), options);
  return all_of(sketch);
}

// The sum over all bursts of the law's spectrum, each at its own time.
std::complex<double> law(const BurstStream& stream, double hz, const SketchOptions& options) {
  const BurstEnergy energy = energy_from_on_time(stream.tick_hz);
  std::complex<double> sum = 0;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const Burst& burst = stream.bursts[i];
    sum += burst_sound_spectrum(hz, stream.seconds(burst.on), energy(burst, i), options.channel_us) *
           std::polar(1.0, -2 * std::numbers::pi * hz * stream.seconds(burst.start));
  }
  return sum;
}

// Any stream, any frequency: phase and size of the sketch are the law's. Rates and channel times in a grid.
TEST(SoundSketch, HasTheSpectrumOfItsLaw) {
  const BurstStream stream = scattered(60);
  for (const int rate : {44'100, 48'000, 96'000})
    for (const double channel_us : {5.0, 60.0, 200.0}) {
      const SketchOptions options{rate, channel_us};
      const std::vector<float> samples = sketched(stream, options);
      double loudest = 0;
      for (double hz = 20; hz < 10'000; hz *= 1.37)
        loudest = std::max(loudest, std::abs(law(stream, hz, options)));
      for (double hz = 20; hz < 10'000; hz *= 1.37) {
        const std::complex<double> found = transform(samples, rate, hz), wanted = law(stream, hz, options);
        EXPECT_LT(std::abs(found - wanted), 1e-4 * loudest)
            << rate << " Hz, " << channel_us << " us, at " << hz;
      }
    }
}

struct Train {
  Tick period, on;  // in ticks of 0.5 us
};
class SoundOfATrain : public testing::TestWithParam<Train> {};

constexpr int kSize = 1 << 16;
// Peak amplitudes of bins 0 to half the size, 4-term Blackman-Harris window (side lobes -92 dB: references by
// Harris 1978, table 1).
std::vector<double> windowed_amplitudes(const std::vector<float>& samples, std::size_t from) {
  std::vector<kiss_fft_cpx> in(kSize), out(kSize);
  for (int n = 0; n < kSize; ++n) {
    const double x = 2 * std::numbers::pi * n / kSize;
    const double window = .35875 - .48829 * std::cos(x) + .14128 * std::cos(2 * x) - .01168 * std::cos(3 * x);
    in[static_cast<std::size_t>(n)] = {
        static_cast<float>(window * static_cast<double>(samples[from + static_cast<std::size_t>(n)])), 0};
  }
  kiss_fft_cfg plan = kiss_fft_alloc(kSize, 0, nullptr, nullptr);
  kiss_fft(plan, in.data(), out.data());
  kiss_fft_free(plan);
  std::vector<double> bins;
  for (std::size_t i = 0; i <= kSize / 2; ++i)
    bins.push_back(2 * std::hypot(out[i].r, out[i].i) / (.35875 * kSize));
  return bins;
}

// A train's harmonics up to 10 kHz by an integral over whole periods, within 0.5 dB (found: 0.001).
TEST_P(SoundOfATrain, HasTheHarmonicsOfTheClosedForm) {
  const auto [period, on] = GetParam();
  const BurstStream stream = train(2'000'000, period, on, static_cast<int>(6'000'000 / period));
  const std::vector<float> samples = sketched(stream);
  const double f0 = 2e6 / static_cast<double>(period), on_s = static_cast<double>(on) / 2e6;
  const double energy = energy_from_on_time(stream.tick_hz)(stream.bursts[0], 0);
  const std::vector<double> bins = windowed_amplitudes(samples, 24'000);
  for (int n = 1; n * f0 < 10'000; ++n) {
    const double wanted =
        2 * f0 * std::abs(burst_sound_spectrum(n * f0, on_s, energy, SketchOptions{}.channel_us));
    // The window's main lobe, summed as power over its bins and divided by its noise bandwidth of 2.0044
    // bins.
    const auto bin = static_cast<std::size_t>(std::llround(n * f0 / 48'000 * kSize));
    double power = 0;
    for (std::size_t i = bin - 4; i <= bin + 4; ++i) power += bins[i] * bins[i];
    EXPECT_NEAR(decibels(std::sqrt(power / 2.0044)), decibels(wanted), 0.05)
        << "harmonic " << n << " of " << f0;
  }
}

// Between the harmonics there is nothing: what folded back would stand there. The strongest line is 0 dB.
TEST_P(SoundOfATrain, HasNoAliasesAbove80dBDown) {
  const auto [period, on] = GetParam();
  const double f0 = 2e6 / static_cast<double>(period);
  const BurstStream stream = train(2'000'000, period, on, static_cast<int>(6'000'000 / period));
  const std::vector<double> bins = windowed_amplitudes(sketched(stream), 24'000);
  const double strongest = *std::max_element(bins.begin(), bins.end());
  int looked_at = 0;
  for (std::size_t i = 5; i < bins.size(); ++i) {
    const double hz = static_cast<double>(i) * 48'000 / kSize;
    const double to_harmonic_bins = std::abs(std::remainder(hz, f0)) / 48'000 * kSize;
    if (to_harmonic_bins < 6) continue;
    ++looked_at;
    ASSERT_LT(decibels(bins[i] / strongest), -80.0) << "at " << hz << " Hz, train of " << f0 << " Hz";
  }
  EXPECT_GT(looked_at, 10'000);
}

// Rates that no sample rate divides, from a low note to a cry; on-times of 4 to 250 us.
INSTANTIATE_TEST_SUITE_P(Trains, SoundOfATrain,
                         testing::Values(Train{38'167, 100}, Train{4'547, 200}, Train{4'547, 8},
                                         Train{2'003, 200}, Train{811, 61}, Train{1'009, 500}));

// k E / (T tau) exp(-t / tau) at the very edge is a pressure of (gamma - 1) / (4 pi c^2): 2.7e-7 Pa m/(W/s).
TEST(SoundSketch, IsInPascalAtOneMetre) {
  EXPECT_NEAR(kHeatToPressure, 2.702e-7, 1e-10);
  // Far below 1 / T a burst of E joule is E times the rate of change of a unit impulse: k E w.
  EXPECT_NEAR(std::abs(burst_sound_spectrum(100, 20e-6, 0.01, 25.0)), kHeatToPressure * 0.01 * 628.3185,
              1e-9);
}

TEST(SoundSketch, IsTheSameInBlocksOfAnySizeAndAfterRewinding) {
  const BurstStream stream = scattered(200);
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz));
  const std::vector<float> whole = all_of(sketch, 1u << 20);
  EXPECT_EQ(static_cast<std::int64_t>(whole.size()), sketch.samples());
  for (const std::size_t block : {1u, 7u, 2048u, 5000u}) {
    sketch.rewind();
    EXPECT_EQ(all_of(sketch, block), whole) << block;
  }
}

// Linear: the sound of all bursts is the sum of the sounds of each, whatever stands in between.
TEST(SoundSketch, AddsBurstsUp) {
  const BurstStream stream = scattered(40);
  const std::vector<float> whole = sketched(stream);
  std::vector<double> sum(whole.size());
  for (const Burst& burst : stream.bursts) {
    const BurstStream one{stream.tick_hz, stream.length, {burst}};
    const std::vector<float> sound = sketched(one);
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += static_cast<double>(sound[i]);
  }
  const double loudest = static_cast<double>(*std::max_element(whole.begin(), whole.end()));
  EXPECT_GT(loudest, 0);
  for (std::size_t i = 0; i < sum.size(); ++i) ASSERT_NEAR(whole[i], sum[i], 1e-5 * loudest) << i;
}

TEST(SoundSketch, SilenceAndEdgesOfTheStream) {
  EXPECT_TRUE(sketched(BurstStream{2'000'000, 0, {}}).empty());
  const std::vector<float> silence = sketched(BurstStream{2'000'000, 2'000'000, {}});
  EXPECT_EQ(silence, std::vector<float>(48'000, 0.0f));
  const std::vector<float> whole_length = sketched(BurstStream{1'000, 100, {{0, 100}}});
  EXPECT_EQ(whole_length.size(), 4'800u);
  EXPECT_GT(whole_length[0], 0.0f);
}

TEST(SoundSketch, EnergyFromOnTimeIsTheIntegralOfTheRisingCurrentSquared) {
  const BurstEnergy energy = energy_from_on_time(100'000'000);
  for (const Tick on : {Tick{1}, Tick{3}, Tick{500}, Tick{2'000}, Tick{5'000}, Tick{100'000}}) {
    double sum = 0;
    constexpr int kSteps = 20'000;
    const double on_s = static_cast<double>(on) * 1e-8;
    for (int i = 0; i < kSteps; ++i) sum += std::pow(-std::expm1(-on_s * (i + 0.5) / kSteps / 20e-6), 2);
    EXPECT_NEAR(energy({0, on}, 0) / (sum * on_s / kSteps), 1.0, 1e-3) << on;
  }
}

TEST(SoundSketch, RefusesWhatItCannotSketch) {
  const BurstStream stream = train(2'000'000, 4'000, 100, 10);
  const BurstEnergy energy = energy_from_on_time(stream.tick_hz);
  const auto make = [&](const SketchOptions& options) { SoundSketch sketch(stream, energy, options); };
  test::expect_error(Fault::usage, "44099 Hz", [&] { make({44'099, 25}); });
  test::expect_error(Fault::usage, "192001 Hz", [&] { make({192'001, 25}); });
  test::expect_error(Fault::usage, "4.9 µs", [&] { make({48'000, 4.9}); });
  test::expect_error(Fault::usage, "nan µs", [&] {
    make({48'000, std::numeric_limits<double>::quiet_NaN()});
  });
  const BurstStream disordered{2'000'000, 100, {{50, 10}, {20, 10}}};
  test::expect_error(Fault::bad_input, "burst", [&] { SoundSketch sketch(disordered, energy); });
  const BurstStream endless{1'000, 6 * 3'600'000 + 1, {}};
  test::expect_error(Fault::bad_input, "six hours", [&] { SoundSketch sketch(endless, energy); });
  for (const double bad : {-1.0, std::numeric_limits<double>::infinity()})
    test::expect_error(Fault::usage, "burst 10 has", [&] {
      std::vector<double> joules(10, 1.0);
      joules[9] = bad;
      SoundSketch sketch(stream, energy_by_index(joules));
      (void)all_of(sketch);
    });
  test::expect_error(Fault::usage, "9 bursts only", [&] {
    SoundSketch sketch(stream, energy_by_index(std::vector<double>(9, 1.0)));
    (void)all_of(sketch);
  });
}

}  // namespace
}  // namespace burstloom
