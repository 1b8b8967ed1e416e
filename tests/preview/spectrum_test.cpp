// The gate's spectrum against the Fourier series of a rectangular train (height 1, duty D, harmonic n has the
// peak amplitude 2 |sin(pi n D)| / (pi n), the mean D; any handbook of Fourier series, from memory), and
// spectrograms against tones. Window figures: Harris, "On the use of windows", Proc. IEEE 66(1), 1978,
// table 1.
#include "burstloom/preview/spectrum.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <string>

#include "../stream/stream_support.hpp"
#include "burstloom/preview/loudness.hpp"
#include "trains.hpp"

namespace burstloom {
namespace {

using test::burst_sound_spectrum;
using test::decibels;
using test::train;

double series(int n, double duty) {
  return 2 * std::abs(std::sin(std::numbers::pi * n * duty)) / (std::numbers::pi * n);
}

struct Train {
  Tick period, on;  // ticks of 0.5 us
};
// The gate's exact Fourier component over the stream's length: 2 / L times the size of the sum over all
// bursts of the integral of exp(-j w t), which is on-time times sinc about the burst's middle; the mean for 0
// Hz.
double gate_amplitude(const BurstStream& stream, double hz) {
  std::complex<double> sum = 0;
  for (const Burst& burst : stream.bursts) {
    const double x = std::numbers::pi * hz * stream.seconds(burst.on);
    const double turns = hz * (stream.seconds(burst.start) + stream.seconds(burst.on) / 2);
    sum += std::polar((hz > 0 ? std::sin(x) / x : 0.5) * stream.seconds(burst.on),
                      -2 * std::numbers::pi * (turns - std::floor(turns)));
  }
  return 2 * std::abs(sum) / stream.seconds(stream.length);
}

class GateOfATrain : public testing::TestWithParam<Train> {};

TEST_P(GateOfATrain, ExactAmplitudesAreTheSeries) {
  const auto [period, on] = GetParam();
  const BurstStream stream = train(2'000'000, period, on, 300);
  const double f0 = 2e6 / static_cast<double>(period),
               duty = static_cast<double>(on) / static_cast<double>(period);
  EXPECT_NEAR(gate_amplitude(stream, 0), duty, 1e-12);
  for (int n = 1; n * f0 < 20'000; ++n)
    EXPECT_NEAR(gate_amplitude(stream, n * f0), series(n, duty), 1e-9) << "harmonic " << n << " of " << f0;
}

// 0.5 dB is asked; found is 0.02. Each harmonic in a band of its own, up to 10 kHz.
TEST_P(GateOfATrain, SpectrumIsTheSeries) {
  const auto [period, on] = GetParam();
  const BurstStream stream = train(2'000'000, period, on, static_cast<int>(8'000'000 / period));
  const double f0 = 2e6 / static_cast<double>(period),
               duty = static_cast<double>(on) / static_cast<double>(period);
  for (int n = 1; n * f0 < 10'000; ++n) {
    const double wanted = series(n, duty);
    if (wanted < 1e-4) continue;  // a null: what stands there is the window's side lobes
    const Spectrum spectrum = gate_spectrum(stream, {n * f0 - 2, n * f0 + 2, 1});
    EXPECT_NEAR(spectrum.db[0], decibels(wanted), 0.05) << "harmonic " << n << " of " << f0;
    n += n / 8;  // fewer of the many
  }
}

// Rates from 52 Hz to 2.5 kHz, duties from 0.2 % to a half (with nulls).
INSTANTIATE_TEST_SUITE_P(Trains, GateOfATrain,
                         testing::Values(Train{38'167, 100}, Train{4'547, 200}, Train{4'547, 9},
                                         Train{2'000, 200}, Train{2'003, 500}, Train{800, 400},
                                         Train{811, 60}));

// 440 Hz with bursts of 100 us: dB of harmonics 1 to 8, from the series.
TEST(GateSpectrum, A440HzTrainOf100us) {
  const std::vector<double> wanted{-21.138, -21.221, -21.361, -21.558, -21.813, -22.130, -22.511, -22.959};
  const BurstStream stream = train(4'400'000, 10'000, 440, 1'760);
  for (std::size_t n = 1; n <= wanted.size(); ++n) {
    const double hz = 440.0 * static_cast<double>(n);
    EXPECT_NEAR(decibels(gate_amplitude(stream, hz)), wanted[n - 1], 0.001);
    EXPECT_NEAR(gate_spectrum(stream, {hz * 0.99, hz * 1.01, 1}).db[0], wanted[n - 1], 0.05);
  }
}

// The bands of the default spectrum: lines where they belong, and nothing between them.
TEST(GateSpectrum, LinesStandInTheirBands) {
  const Spectrum spectrum = gate_spectrum(train(2'000'000, 2'000, 100, 4'000));
  ASSERT_EQ(spectrum.db.size(), 256u);
  for (std::size_t i = 0; i < spectrum.db.size(); ++i) {
    const double low = spectrum.bands.edge_hz(i), high = spectrum.bands.edge_hz(i + 1);
    const double n = std::floor(high / 1'000);
    if (n >= 1 && n * 1'000 > low + 1 && n * 1'000 < high - 1) {
      EXPECT_NEAR(spectrum.db[i], decibels(series(static_cast<int>(n), 0.05)), 0.05) << high;
    }
    const double away = std::min(std::abs(std::remainder(low, 1'000)), std::abs(std::remainder(high, 1'000)));
    if (high < 900 || (away > 50 && std::floor(low / 1'000) == std::floor(high / 1'000))) {
      EXPECT_LT(spectrum.db[i], -100) << low << " to " << high;
    }
  }
}

TEST(GateSpectrum, ShortAndEmptyStreams) {
  const std::vector<double> floor(256, kFloorDb);
  EXPECT_EQ(gate_spectrum(BurstStream{2'000'000, 0, {}}).db, floor);
  EXPECT_EQ(gate_spectrum(BurstStream{2'000'000, 20'000'000, {}}).db, floor);
  EXPECT_GT(gate_spectrum(BurstStream{2'000'000, 2'000, {{500, 100}}}).db[100], kFloorDb);
}

Sound tone(int rate_hz, double seconds, double hz, double amplitude) {
  Sound sound;
  sound.rate_hz = rate_hz;
  for (int n = 0; n < static_cast<int>(seconds * rate_hz); ++n)
    sound.samples.push_back(
        static_cast<float>(amplitude * std::sin(2 * std::numbers::pi * hz * n / rate_hz)));
  return sound;
}

// On a line of the transform (48 000 / 4096 Hz apart) the amplitude itself, half-way 1.42 dB less (Hann).
TEST(Spectrogram, AToneShowsItsAmplitude) {
  for (const auto& [line, less] : {std::pair{85.0, 0.0}, {85.5, 1.4236}}) {
    const Spectrogram picture = spectrogram(tone(48'000, 4, line * 48'000 / 4'096, 0.25));
    for (std::size_t column = picture.columns / 4; column < picture.columns * 3 / 4; ++column) {
      std::size_t strongest = 0;
      for (std::size_t band = 0; band < picture.bands.count; ++band)
        if (picture.at(column, band) > picture.at(column, strongest)) strongest = band;
      ASSERT_NEAR(picture.at(column, strongest), decibels(0.25) - less, 0.01) << column;
      ASSERT_NEAR(picture.bands.middle_hz(strongest) / (line * 48'000 / 4'096), 1.0, 0.02);
    }
  }
}

// A tone that begins half-way stands in the second half; every rate and length has its columns.
TEST(Spectrogram, TimeIsWhereItBelongs) {
  for (const int rate : {8'000, 44'100, 48'000, 192'000})
    for (const double seconds : {0.5, 7.0, 60.0}) {
      Sound sound = tone(rate, seconds, 1'000, 0.5);
      std::fill(sound.samples.begin(), sound.samples.begin() + std::ssize(sound.samples) / 2, 0.0f);
      const Spectrogram picture = spectrogram(sound, {.bands = {900, 1'100, 1}, .most_columns = 300});
      EXPECT_LE(picture.columns, 300u);
      EXPECT_NEAR(picture.length_s, seconds, seconds / static_cast<double>(picture.columns) + 1e-3);
      std::size_t quiet = 0;
      while (quiet < picture.columns && picture.at(quiet, 0) < decibels(0.25)) ++quiet;
      const double begins_s =
          static_cast<double>(quiet) / static_cast<double>(picture.columns) * picture.length_s;
      EXPECT_NEAR(begins_s, seconds / 2, 0.02 + seconds / static_cast<double>(picture.columns)) << rate;
    }
}

TEST(Spectrogram, OfTheSketchShowsTheLawsHarmonics) {
  // 468.75 Hz is on a line; harmonic n of the sketch by the law's closed form.
  const BurstStream stream = train(7'500'000, 16'000, 600, 1'875);
  SoundSketch sketch(stream, energy_from_on_time(stream.tick_hz));
  const double gain = level_for(sketch).gain;
  const double energy = energy_from_on_time(stream.tick_hz)(stream.bursts[0], 0);
  for (const int n : {1, 2, 5, 10, 20}) {
    const double hz = n * 468.75;
    const Spectrogram picture = spectrogram(sketch, gain, {.bands = {hz * 0.99, hz * 1.01, 1}});
    const double wanted =
        gain * 2 * 468.75 * std::abs(burst_sound_spectrum(hz, 80e-6, energy, SketchOptions{}.channel_us));
    EXPECT_NEAR(picture.at(picture.columns / 2, 0), decibels(wanted), 0.05) << n;
  }
}

TEST(Spectrogram, SilenceNothingAndWhatIsRefused) {
  Sound nothing;
  nothing.rate_hz = 48'000;
  const Spectrogram picture = spectrogram(nothing);
  EXPECT_EQ(picture.columns, 1u);
  EXPECT_EQ(picture.at(0, 0), static_cast<float>(kFloorDb));
  // Above half the rate there is nothing to show.
  EXPECT_EQ(spectrogram(tone(8'000, 1, 3'900, 1), {.bands = {4'100, 16'000, 8}}).at(5, 3),
            static_cast<float>(kFloorDb));
  test::expect_error(Fault::usage, "bands", [&] { (void)spectrogram(nothing, {.bands = {0, 100, 10}}); });
  test::expect_error(Fault::usage, "bands", [&] { (void)spectrogram(nothing, {.bands = {200, 100, 10}}); });
  test::expect_error(Fault::usage, "bands", [&] { (void)spectrogram(nothing, {.bands = {30, 100, 0}}); });
  test::expect_error(Fault::usage, "0 columns",
                     [&] { (void)spectrogram(nothing, {.bands = {}, .most_columns = 0}); });
  test::expect_error(Fault::bad_input, "samples a second", [] { (void)spectrogram(Sound{}); });
}

}  // namespace
}  // namespace burstloom
