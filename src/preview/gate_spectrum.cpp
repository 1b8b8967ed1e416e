#include <algorithm>
#include <span>
#include <vector>

#include "burstloom/preview/spectrum.hpp"
#include "line_spectrum.hpp"
#include "pulse_train.hpp"

namespace burstloom {
namespace {

using namespace preview_detail;

constexpr int kRate = 48'000;
constexpr std::size_t kSize = 32'768;

}  // namespace

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
