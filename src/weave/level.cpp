#include "level.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::weave_detail {
namespace {

constexpr double kStep_s = 0.005;
// A running greatest over 2 kReach + 1 steps, then a mean over 2 kSmooth + 1 of them: as long as the mean
// reaches no further than the greatest, it is nowhere under the sound. Slow beside any sound: 50 ms.
constexpr std::ptrdiff_t kReach = 6, kSmooth = 5;

template <class Fold>
std::vector<double> folded(const std::vector<double>& values, std::ptrdiff_t reach, Fold fold) {
  const auto size = static_cast<std::ptrdiff_t>(values.size());
  std::vector<double> result(values.size());
  for (std::ptrdiff_t i = 0; i < size; ++i) {
    const auto first = values.begin() + std::max<std::ptrdiff_t>(0, i - reach);
    const auto past = values.begin() + std::min(size, i + reach + 1);
    result[static_cast<std::size_t>(i)] = fold(first, past);
  }
  return result;
}

}  // namespace

Level::Level(const BandLimited& sound, double length_s, double rate_hz) {
  std::vector<double> peaks(static_cast<std::size_t>(std::ceil(length_s / kStep_s)) + 2, 0.0);
  const auto moments = static_cast<std::int64_t>(length_s * rate_hz);
  for (std::int64_t i = 0; i < moments; ++i) {
    const double at_s = static_cast<double>(i) / rate_hz;
    double& peak = peaks[static_cast<std::size_t>(at_s / kStep_s)];
    peak = std::max(peak, std::abs(sound.at(at_s)));
  }
  const auto greatest = [](auto first, auto past) { return *std::max_element(first, past); };
  const auto mean = [](auto first, auto past) {
    double sum = 0;
    for (auto it = first; it != past; ++it) sum += *it;
    return sum / static_cast<double>(past - first);
  };
  level_ = folded(folded(peaks, kReach, greatest), kSmooth, mean);
  highest_ = greatest(level_.begin(), level_.end());
}

double Level::at(double seconds) const {
  const double place = std::clamp(seconds / kStep_s, 0.0, static_cast<double>(level_.size() - 2));
  const auto low = static_cast<std::size_t>(place);
  return level_[low] + (place - static_cast<double>(low)) * (level_[low + 1] - level_[low]);
}

}  // namespace burstloom::weave_detail
