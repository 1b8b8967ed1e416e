#include "burstloom/preview/sound_sketch.hpp"

#include <cmath>
#include <numbers>
#include <string>
#include <utility>

#include "burstloom/common/error.hpp"
#include "pulse_train.hpp"

namespace burstloom {
namespace {

using preview_detail::EdgeKernel;
using preview_detail::PulseTrain;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.10g", value);
  return text;
}

void require_channel(double channel_us) {
  if (!(channel_us >= 5 && channel_us <= 200))
    throw Error(Fault::usage, "a channel time of " + number(channel_us) + " µs", "",
                "give one from 5 to 200 µs");
}

double checked(double joules, std::size_t index) {
  if (std::isfinite(joules) && joules >= 0) return joules;
  throw Error(Fault::usage,
              "burst " + std::to_string(index + 1) + " has an energy of " + number(joules) + " J", "",
              "give a number of joules that is not negative");
}

// k E / (T tau) of the law, in pascal.
PulseTrain::Weight step_of_pressure(std::int64_t tick_hz, BurstEnergy energy, double channel_s) {
  return [=, energy = std::move(energy)](const Burst& burst, std::size_t index) {
    const double on_s = static_cast<double>(burst.on) / static_cast<double>(tick_hz);
    return kHeatToPressure * checked(energy(burst, index), index) / (on_s * channel_s);
  };
}

}  // namespace

BurstEnergy energy_from_on_time(std::int64_t tick_hz) {
  constexpr double kRiseS = 20e-6;
  return [tick_hz](const Burst& burst, std::size_t) {
    const double x = static_cast<double>(burst.on) / static_cast<double>(tick_hz) / kRiseS;
    if (x < 1e-3) return kRiseS * x * x * x / 3;  // the sum below would be all rounding
    return kRiseS * (x + 2 * std::expm1(-x) - std::expm1(-2 * x) / 2);
  };
}

BurstEnergy energy_by_index(std::vector<double> joules) {
  return [joules = std::move(joules)](const Burst&, std::size_t index) {
    if (index < joules.size()) return joules[index];
    throw Error(Fault::usage, "there are energies for " + std::to_string(joules.size()) + " bursts only", "",
                "give one for each burst of the stream");
  };
}

class SoundSketch::Pulses : public PulseTrain {
  using PulseTrain::PulseTrain;
};

SoundSketch::SoundSketch(const BurstStream& stream, BurstEnergy energy, const SketchOptions& options) {
  preview_detail::require_sampleable(stream, options.rate_hz);
  require_channel(options.channel_us);
  const double channel_s = options.channel_us * 1e-6;
  pulses_ = std::make_unique<Pulses>(stream, options.rate_hz, EdgeKernel::decay(channel_s * options.rate_hz),
                                     step_of_pressure(stream.tick_hz, std::move(energy), channel_s));
}
SoundSketch::SoundSketch(SoundSketch&&) noexcept = default;
SoundSketch& SoundSketch::operator=(SoundSketch&&) noexcept = default;
SoundSketch::~SoundSketch() = default;

int SoundSketch::rate_hz() const {
  return pulses_->rate_hz();
}
std::int64_t SoundSketch::samples() const {
  return pulses_->samples();
}
std::size_t SoundSketch::read(std::span<float> block) {
  return pulses_->read(block);
}
void SoundSketch::rewind() {
  pulses_->rewind();
}

}  // namespace burstloom
