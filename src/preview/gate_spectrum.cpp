#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "burstloom/common/error.hpp"
#include "burstloom/preview/spectrum.hpp"
#include "line_spectrum.hpp"
#include "pulse_train.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;

constexpr int kRate = 48'000;
constexpr std::size_t kSize = 32'768;

double mean_of(const BurstStream& stream) {
  Tick on = 0;
  for (const Burst& burst : stream.bursts) on += burst.on;
  return static_cast<double>(on) / static_cast<double>(stream.length);
}

// The integral of exp(-j w t) over a burst is on-time times sinc, about the burst's middle: no difference of
// two nearly equal numbers.
double amplitude_at(const BurstStream& stream, double hz) {
  if (hz <= 0) return mean_of(stream);
  std::complex<double> sum = 0;
  for (const Burst& burst : stream.bursts) {
    const double x = std::numbers::pi * hz * stream.seconds(burst.on);
    const double turns = hz * (stream.seconds(burst.start) + stream.seconds(burst.on) / 2);
    sum += std::polar(std::sin(x) / x * stream.seconds(burst.on),
                      -2 * std::numbers::pi * (turns - std::floor(turns)));
  }
  return 2 * std::abs(sum) / stream.seconds(stream.length);
}

}  // namespace

std::vector<double> gate_amplitudes(const BurstStream& stream, std::span<const double> hz) {
  require_in_order(stream, "the stream");
  if (stream.length == 0) throw bad_input("the stream lasts no time at all", "", "give one with a length");
  std::vector<double> amplitudes;
  for (const double f : hz) amplitudes.push_back(amplitude_at(stream, f));
  return amplitudes;
}

Spectrum gate_spectrum(const BurstStream& stream, const Bands& bands) {
  require_bands(bands);
  PulseTrain gate(stream, kRate, EdgeKernel::step(), [](const Burst&, std::size_t) { return 1.0; });
  LineSpectrum lines(kSize, kFlatTop);
  std::vector<float> frame(kSize, 0.0f);
  std::vector<double> power(kSize / 2 + 1, 0.0);
  double frames = 0;
  gate.read(frame);
  std::size_t filled = 0;
  do {  // whole frames, half overlapping; the rest of the stream is left out once there is one
    lines.add(frame.data(), power);
    ++frames;
    std::move(frame.begin() + kSize / 2, frame.end(), frame.begin());
    filled = gate.read(std::span(frame).subspan(kSize / 2));
  } while (filled == kSize / 2);
  Spectrum spectrum{bands, std::vector<double>(bands.count)};
  BandLines(bands, static_cast<double>(kRate) / kSize, power.size())
      .strongest(power, frames, std::span(spectrum.db));
  return spectrum;
}

}  // namespace burstloom
