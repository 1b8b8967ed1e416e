#include "yin.hpp"

#include <algorithm>
#include <cmath>

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
      size_(Transforms::fast_size(window_ + longest_lag_)),
      forward_(size_),
      backward_(size_ * lags_a_sample),
      frames_(size_),
      heads_(size_),
      product_(size_ * lags_a_sample),
      correlations_(longest_lag_ * lags_a_sample),
      difference_(longest_lag_ * lags_a_sample) {
  for (auto& energy_to : energy_to_) energy_to.resize(window_ + longest_lag_ + 1);
}

double Yin::take_frame(std::size_t lane, double centre_s) {
  const double start = (centre_s - usual_period_s / 2.0) * rate_hz_ - static_cast<double>(window_) / 2.0;
  const std::size_t count = window_ + longest_lag_;
  const auto samples = sound_.at(static_cast<std::ptrdiff_t>(std::lround(start)), count);
  std::vector<double>& energy_to = energy_to_[lane];
  double sum = 0;
  for (std::size_t i = 0; i < count; ++i) {
    frames_[i][lane] = samples[i];
    const auto sample = static_cast<double>(samples[i]);
    energy_to[i + 1] = energy_to[i] + sample * sample;
    if (i >= window_) continue;
    heads_[i][lane] = samples[i];
    sum += sample;
  }
  const double mean = sum / static_cast<double>(window_);
  return std::sqrt(std::max(0.0, energy_to[window_] / static_cast<double>(window_) - mean * mean));
}

/// Step 2, the costly part: each frame's first window against the frame, at every half sample of lag. A
/// spectrum's real parts are even and its imaginary ones odd: of their sum, which is real, the transform has
/// the sound's cosines in its real part and its sines in the other.
void Yin::correlate() {
  const auto frames = forward_(frames_);
  const std::vector<FourComplex> whole(frames.begin(), frames.end());
  const auto heads = forward_(heads_);
  for (std::size_t k = 0; k < whole.size(); ++k) {
    const FourComplex a = heads[k], b = whole[k];
    // The bin at half the rate is shared between the two sides.
    const float share = k + 1 == whole.size() ? 0.5F : 1.0F;
    const Four even = (a.re * b.re + a.im * b.im) * share, odd = a.re * b.im - a.im * b.re;
    product_[k] = even + odd;
    if (k > 0) product_[product_.size() - k] = even - odd;
  }
  const auto lines = backward_(product_);
  for (std::size_t i = 0; i < correlations_.size(); ++i) correlations_[i] = lines[i].re + lines[i].im;
}

/// Step 2, the rest. Energies at half samples are means of their neighbours.
void Yin::difference(std::size_t lane) {
  const double scale = 1.0 / static_cast<double>(size_);
  const std::vector<double>& energy_to = energy_to_[lane];
  const auto shifted = [&](std::size_t lag) { return energy_to[lag + window_] - energy_to[lag]; };
  for (std::size_t i = 0; i < difference_.size(); ++i) {
    const std::size_t lag = i / 2;
    const double energy = i % 2 == 0 ? shifted(lag) : 0.5 * (shifted(lag) + shifted(lag + 1));
    const double d = energy_to[window_] + energy - 2.0 * scale * static_cast<double>(correlations_[i][lane]);
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
void Yin::candidates(std::size_t lane, std::vector<Candidate>& out) {
  difference(lane);
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
