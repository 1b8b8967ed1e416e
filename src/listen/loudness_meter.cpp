// The meter is libebur128's; here are only its errors, its units and its silence.
#include "burstloom/listen/loudness_meter.hpp"

#include <ebur128.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <string>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

Error no_memory() {
  return {Fault::machine, "there is no memory for the loudness meter", "", "close other programs"};
}

std::optional<double> told(double value) {
  return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

using Question = int (*)(ebur128_state*, double*);
std::optional<double> ask(Question question, ebur128_state* state) {
  double value = 0;
  if (question(state, &value) != EBUR128_SUCCESS) throw no_memory();
  return told(value);
}

}  // namespace

struct LoudnessMeter::State {
  ebur128_state* meter = nullptr;
  std::size_t channels = 0;
  bool with_true_peak = true;
  ~State() {
    if (meter != nullptr) ebur128_destroy(&meter);  // the library's own does not bear a null
  }
};

LoudnessMeter::LoudnessMeter(int channels, int rate_hz, bool with_true_peak)
    : state_(std::make_unique<State>()) {
  if (channels < 1 || channels > 5 || rate_hz < 8'000 || rate_hz > 192'000)
    throw Error(Fault::usage,
                "loudness of " + std::to_string(channels) + " channels at " + std::to_string(rate_hz) + " Hz",
                "", "give 1 to 5 channels at 8000 to 192000 Hz");
  state_->channels = static_cast<std::size_t>(channels);
  state_->with_true_peak = with_true_peak;
  state_->meter =
      ebur128_init(static_cast<unsigned>(channels), static_cast<unsigned long>(rate_hz),
                   EBUR128_MODE_I | EBUR128_MODE_S | (with_true_peak ? EBUR128_MODE_TRUE_PEAK : 0));
  if (state_->meter == nullptr) throw no_memory();
}
LoudnessMeter::LoudnessMeter(LoudnessMeter&&) noexcept = default;
LoudnessMeter& LoudnessMeter::operator=(LoudnessMeter&&) noexcept = default;
LoudnessMeter::~LoudnessMeter() = default;

void LoudnessMeter::add(std::span<const float> interleaved) {
  if (interleaved.size() % state_->channels != 0)
    throw Error(Fault::usage, "samples that are no whole number of frames", "",
                "give all channels of each frame");
  const std::size_t frames = interleaved.size() / state_->channels;
  if (ebur128_add_frames_float(state_->meter, interleaved.data(), frames) != EBUR128_SUCCESS)
    throw no_memory();
}

std::optional<double> LoudnessMeter::integrated_lufs() const {
  return ask(ebur128_loudness_global, state_->meter);
}
std::optional<double> LoudnessMeter::true_peak_dbtp() const {
  if (!state_->with_true_peak) return std::nullopt;
  double highest = 0;
  for (unsigned channel = 0; channel < state_->channels; ++channel) {
    double peak = 0;
    ebur128_true_peak(state_->meter, channel, &peak);
    highest = std::max(highest, peak);
  }
  // cppcheck-suppress invalidFunctionArg ; silence is minus infinity, which `told` knows
  return told(20 * std::log10(highest));
}

}  // namespace burstloom
