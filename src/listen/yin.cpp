#include "yin.hpp"

#include <algorithm>
#include <cmath>
#include <new>

namespace burstloom {
namespace {

constexpr double window_s = 0.025;        // as in the paper
constexpr double range_margin = 1.03;     // a dip at the very end of the range still has both its neighbours
constexpr double usual_period_s = 0.005;  // frames are laid so that a pair this far apart is centred exactly
constexpr float absolute_threshold = 0.1F;
constexpr float hopeless = 0.5F;
constexpr std::size_t most_candidates = 5;
constexpr std::size_t lags_a_sample = 2;

std::size_t samples_in(double seconds, double rate_hz) {
  return static_cast<std::size_t>(std::ceil(seconds * rate_hz));
}

/// A dip of a curve: where the parabola through three points has its minimum, as an offset from the middle,
/// and how deep it is.
struct Dip {
  float offset, value;
};
Dip parabola(float left, float middle, float right) {
  const float bend = left - 2.0F * middle + right;
  if (!(bend > 0)) return {0, middle};
  const float offset = 0.5F * (left - right) / bend;
  return {offset, std::max(0.0F, middle - 0.25F * (left - right) * offset)};
}

}  // namespace

Yin::Yin(Thinned& sound)
    : sound_(sound),
      rate_hz_(sound.rate_hz),
      window_(samples_in(window_s, rate_hz_)),
      longest_lag_(samples_in(range_margin / lowest_pitch_hz, rate_hz_) + 1),
      size_(
          static_cast<std::size_t>(kiss_fftr_next_fast_size_real(static_cast<int>(window_ + longest_lag_)))),
      forward_(kiss_fftr_alloc(static_cast<int>(size_), 0, nullptr, nullptr)),
      backward_(kiss_fftr_alloc(static_cast<int>(size_ * lags_a_sample), 1, nullptr, nullptr)),
      frame_(size_),
      head_(size_),
      correlation_(size_ * lags_a_sample),
      difference_(longest_lag_ * lags_a_sample),
      frame_spectrum_(size_ / 2 + 1),
      head_spectrum_(size_ * lags_a_sample / 2 + 1),
      energy_to_(window_ + longest_lag_ + 1) {
  if (!forward_ || !backward_) throw std::bad_alloc();
}

double Yin::take_frame(double centre_s) {
  const double start = (centre_s - usual_period_s / 2.0) * rate_hz_ - static_cast<double>(window_) / 2.0;
  const std::size_t count = window_ + longest_lag_;
  const auto samples = sound_.at(static_cast<std::ptrdiff_t>(std::lround(start)), count);
  std::copy(samples.begin(), samples.end(), frame_.begin());
  double sum = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const auto sample = static_cast<double>(frame_[i]);
    energy_to_[i + 1] = energy_to_[i] + sample * sample;
    if (i < window_) sum += sample;
  }
  const double mean = sum / static_cast<double>(window_);
  return std::sqrt(std::max(0.0, energy_to_[window_] / static_cast<double>(window_) - mean * mean));
}

/// Step 2, the costly part: the frame's first window against the frame, at every half sample of lag.
void Yin::correlate() {
  std::copy_n(frame_.begin(), window_, head_.begin());
  kiss_fftr(forward_.get(), frame_.data(), frame_spectrum_.data());
  kiss_fftr(forward_.get(), head_.data(), head_spectrum_.data());
  const std::size_t bins = size_ / 2 + 1;
  for (std::size_t k = 0; k < bins; ++k) {
    const kiss_fft_cpx a = head_spectrum_[k], b = frame_spectrum_[k];
    head_spectrum_[k] = {a.r * b.r + a.i * b.i, a.r * b.i - a.i * b.r};
  }
  head_spectrum_[bins - 1].r *= 0.5F;  // the bin at half the rate is shared between the two sides
  std::fill(head_spectrum_.begin() + static_cast<std::ptrdiff_t>(bins), head_spectrum_.end(),
            kiss_fft_cpx{0, 0});
  kiss_fftri(backward_.get(), head_spectrum_.data(), correlation_.data());
}

/// Step 2, the rest. Energies at half samples are means of their neighbours.
void Yin::difference() {
  const double scale = 1.0 / static_cast<double>(size_);
  const auto shifted = [&](std::size_t lag) { return energy_to_[lag + window_] - energy_to_[lag]; };
  for (std::size_t i = 0; i < difference_.size(); ++i) {
    const std::size_t lag = i / 2;
    const double energy = i % 2 == 0 ? shifted(lag) : 0.5 * (shifted(lag) + shifted(lag + 1));
    const double d = energy_to_[window_] + energy - 2.0 * scale * static_cast<double>(correlation_[i]);
    difference_[i] = static_cast<float>(std::max(0.0, d));
  }
}

/// Step 3.
void Yin::normalise() {
  difference_[0] = 1.0F;
  double sum = 0;
  for (std::size_t i = 1; i < difference_.size(); ++i) {
    sum += static_cast<double>(difference_[i]);
    difference_[i] =
        sum > 0 ? static_cast<float>(static_cast<double>(difference_[i]) * static_cast<double>(i) / sum)
                : 1.0F;
  }
}

/// Steps 4 and 5, keeping the deepest other dips as well.
void Yin::candidates(std::vector<Candidate>& out) {
  correlate();
  difference();
  normalise();
  out.clear();
  const double lags_a_second = rate_hz_ * static_cast<double>(lags_a_sample);
  const auto first =
      std::max<std::size_t>(2, static_cast<std::size_t>(lags_a_second / (highest_pitch_hz * range_margin)));
  for (std::size_t i = first; i + 1 < difference_.size(); ++i) {
    const float left = difference_[i - 1], middle = difference_[i], right = difference_[i + 1];
    if (middle >= hopeless || middle >= left || middle > right) continue;
    const Dip dip = parabola(left, middle, right);
    out.push_back(
        {static_cast<float>((static_cast<double>(i) + static_cast<double>(dip.offset)) / lags_a_second),
         dip.value, false});
  }
  if (out.empty()) return;
  const auto deeper = [](const Candidate& a, const Candidate& b) { return a.aperiodicity < b.aperiodicity; };
  auto chosen = std::find_if(out.begin(), out.end(),
                             [](const Candidate& c) { return c.aperiodicity < absolute_threshold; });
  if (chosen == out.end()) chosen = std::min_element(out.begin(), out.end(), deeper);
  chosen->chosen_by_threshold = true;
  std::iter_swap(out.begin(), chosen);
  std::stable_sort(out.begin() + 1, out.end(), deeper);
  if (out.size() > most_candidates) out.resize(most_candidates);
}

}  // namespace burstloom
