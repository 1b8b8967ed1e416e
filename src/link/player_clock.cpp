#include "burstloom/link/player_clock.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace burstloom {
namespace {

constexpr double kWindow_s = 10;
constexpr double kOfEach_s = 0.1;
// A rate is believed when it was seen for so long. Until then a drift must not add up over many points.
constexpr double kLeastSpan_s = 1.5;
constexpr double kWithoutRate_s = 0.5;
constexpr double kMostDrift = 0.02;
// A status this far from what is expected is damaged; several in a row mean that the clock was set anew.
constexpr double kStrange_s = 0.5;
constexpr int kBelievedAfter = 3;

}  // namespace

PlayerClock::PlayerClock(std::int64_t tick_hz) : tick_hz_(static_cast<double>(tick_hz)) {}

void PlayerClock::restart() {
  points_.clear();
  told_.reset();
  strange_ = 0;
}

void PlayerClock::hear(double now_s, std::uint32_t song_time) {
  const double expected_s = points_.empty() ? 0 : song_at_zero_s_ + rate_ * now_s;
  const auto expected = static_cast<Tick>(std::llround(expected_s * tick_hz_));
  const auto off = static_cast<std::int32_t>(song_time - static_cast<std::uint32_t>(expected));
  const bool strange = !points_.empty() && std::abs(off) > kStrange_s * tick_hz_;
  strange_ = strange ? strange_ + 1 : 0;
  if (strange && strange_ < kBelievedAfter) return;
  if (strange) points_.clear();
  keep({now_s, static_cast<double>(expected + off) / tick_hz_});
  fit();
}

void PlayerClock::keep(const Point& point) {
  const auto ahead_s = [&](const Point& p) { return p.song_s - rate_ * p.at_s; };
  const bool same_part =
      !points_.empty() && std::floor(points_.back().at_s / kOfEach_s) == std::floor(point.at_s / kOfEach_s);
  if (!same_part) {
    points_.push_back(point);
  } else if (ahead_s(point) >= ahead_s(points_.back())) {
    points_.back() = point;
  }
  while (points_.front().at_s < point.at_s - kWindow_s) points_.pop_front();
}

// The slope of the upper hull where it passes the middle of the window.
std::optional<double> PlayerClock::rate_over_middle() const {
  if (points_.back().at_s - points_.front().at_s < kLeastSpan_s) return std::nullopt;
  std::vector<Point> hull;
  const auto lies_below = [](const Point& a, const Point& b, const Point& c) {
    return (b.song_s - a.song_s) * (c.at_s - a.at_s) <= (c.song_s - a.song_s) * (b.at_s - a.at_s);
  };
  double sum_s = 0;
  for (const Point& point : points_) {
    sum_s += point.at_s;
    while (hull.size() >= 2 && lies_below(hull[hull.size() - 2], hull.back(), point)) hull.pop_back();
    hull.push_back(point);
  }
  const double middle_s = sum_s / static_cast<double>(points_.size());
  std::size_t right = 1;
  while (right + 1 < hull.size() && hull[right].at_s < middle_s) ++right;
  const Point &a = hull[right - 1], &b = hull[right];
  return (b.song_s - a.song_s) / (b.at_s - a.at_s);
}

void PlayerClock::fit() {
  if (const auto rate = rate_over_middle()) {
    rate_ = std::clamp(*rate, 1 - kMostDrift, 1 + kMostDrift);
    knows_rate_ = true;
  }
  const Point& last = points_.back();
  song_at_zero_s_ = last.song_s - rate_ * last.at_s;
  for (const Point& point : points_)
    if (knows_rate_ || point.at_s > last.at_s - kWithoutRate_s)
      song_at_zero_s_ = std::max(song_at_zero_s_, point.song_s - rate_ * point.at_s);
}

std::optional<Tick> PlayerClock::now(double now_s) {
  if (points_.empty()) return std::nullopt;
  const auto estimate = static_cast<Tick>(std::llround((song_at_zero_s_ + rate_ * now_s) * tick_hz_));
  told_ = std::max(told_.value_or(estimate), estimate);
  return told_;
}

}  // namespace burstloom
