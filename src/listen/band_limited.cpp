#include "burstloom/listen/band_limited.hpp"

#include <algorithm>
#include <cmath>

#include "kaiser.hpp"

namespace burstloom {
namespace {

constexpr double kBeta = 8.0;
constexpr int kZeros = 17;  // of the sinc on each side: a transition of 0.3 of the cutoff (Kaiser's formula)
constexpr int kSteps = 1024;  // table entries from zero to zero; straight lines between are good to -110 dB

double mean_of(const std::vector<float>& samples) {
  double sum = 0;
  for (const float sample : samples) sum += static_cast<double>(sample);
  return samples.empty() ? 0 : sum / static_cast<double>(samples.size());
}

}  // namespace

BandLimited::BandLimited(const Sound& sound, double cutoff_hz)
    : sound_(sound), offset_(mean_of(sound.samples)) {
  zeros_per_sample_ = 2 * std::min(cutoff_hz / sound.rate_hz, 0.46);
  half_width_ = kZeros / zeros_per_sample_;
  kernel_.resize(static_cast<std::size_t>(kZeros) * kSteps + 2, 0.0);
  for (std::size_t i = 0; i + 2 < kernel_.size(); ++i) {
    const double zeros = static_cast<double>(i) / kSteps;
    kernel_[i] = zeros_per_sample_ * sinc(zeros) * kaiser(zeros / kZeros, kBeta);
  }
}

double BandLimited::kernel(double samples) const {
  const double place = std::abs(samples) * zeros_per_sample_ * kSteps;
  const auto low = std::min(static_cast<std::size_t>(place), kernel_.size() - 2);
  const double share = std::min(1.0, place - static_cast<double>(low));
  return kernel_[low] + share * (kernel_[low + 1] - kernel_[low]);
}

double BandLimited::at(double seconds) const {
  const double place = seconds * sound_.rate_hz;
  const auto size = static_cast<double>(sound_.samples.size());
  const auto first = static_cast<std::size_t>(std::clamp(std::ceil(place - half_width_), 0.0, size));
  const auto past = static_cast<std::size_t>(std::clamp(std::floor(place + half_width_) + 1, 0.0, size));
  double sum = 0;
  for (std::size_t i = first; i < past; ++i)
    sum += (static_cast<double>(sound_.samples[i]) - offset_) * kernel(place - static_cast<double>(i));
  return sum;
}

}  // namespace burstloom
