// What bench points say about peak current.
#include <algorithm>
#include <cmath>

#include "burstloom/coil/profile.hpp"

namespace burstloom {
namespace {

// Peak current goes with the bus: the highest bus is bus_v raised by its tolerance.
std::optional<double> scale_to_highest_bus(const Profile& profile) {
  if (!profile.measured || !profile.drive.bus_v || !(profile.measured->bus_v > 0)) return std::nullopt;
  return *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100) / profile.measured->bus_v;
}

bool usable(const MeasuredCurrent& points) {
  return !points.on_time_us.empty() && points.on_time_us.size() == points.peak_current_a.size();
}

// The highest current up to each point: a burst's peak cannot fall as the burst grows, a scope reading can.
std::vector<double> running_peaks(const MeasuredCurrent& points, double scale) {
  std::vector<double> peaks;
  for (const double current : points.peak_current_a)
    peaks.push_back(std::max(current * scale, peaks.empty() ? 0.0 : peaks.back()));
  return peaks;
}

double between(double x, double x0, double y0, double x1, double y1) {
  return std::clamp(y0 + (y1 - y0) * (x - x0) / (x1 - x0), y0, y1);
}

}  // namespace

std::optional<double> peak_current_a(const Profile& profile, double on_time_us) {
  const auto scale = scale_to_highest_bus(profile);
  if (!scale || !usable(*profile.measured) || !(on_time_us <= profile.measured->on_time_us.back()))
    return std::nullopt;
  const auto& times = profile.measured->on_time_us;
  const auto peaks = running_peaks(*profile.measured, *scale);
  const auto next =
      static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), on_time_us) - times.begin());
  if (next == 0) return peaks.front();
  return between(on_time_us, times[next - 1], peaks[next - 1], times[next], peaks[next]);
}

std::optional<double> longest_on_time_for_current_us(const Profile& profile) {
  const auto scale = scale_to_highest_bus(profile);
  if (!scale || !usable(*profile.measured) || !profile.limits.peak_current_a) return std::nullopt;
  const double limit = *profile.limits.peak_current_a;
  const auto& times = profile.measured->on_time_us;
  const auto peaks = running_peaks(*profile.measured, *scale);
  const auto next =
      static_cast<std::size_t>(std::upper_bound(peaks.begin(), peaks.end(), limit) - peaks.begin());
  if (next == 0) return 0.0;
  if (next == peaks.size()) return times.back();
  double longest = between(limit, peaks[next - 1], times[next - 1], peaks[next], times[next]);
  // Rounding may land a hair past the crossing; the answer must itself keep the limit.
  while (longest > times[next - 1] && peak_current_a(profile, longest).value_or(0) > limit)
    longest = std::max(times[next - 1], longest - (times[next] - times[next - 1]) * 1e-12);
  return longest;
}

}  // namespace burstloom
