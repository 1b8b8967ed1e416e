// A second judge of timing, made to be seen right rather than fast: the gate is a row of ticks, every window
// is looked at where it may begin, and limits are compared in microseconds as the profile says them.
#pragma once

#include <rapidcheck.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "support.hpp"

namespace burstloom::testing {

class TickByTick {
 public:
  struct Figure {
    double worst = 0;
    bool held = true;
  };

  TickByTick(const BurstStream& stream, const Profile& profile)
      : profile_(profile),
        per_us_(static_cast<double>(stream.tick_hz) / 1e6),
        clock_(profile.drive.clock_tolerance_percent / 100),
        stretch_us_(profile.drive.pulse_stretch_ns / 1000),
        stretch_(static_cast<Tick>(std::ceil(stretch_us_ * per_us_ - kHair))),
        margin_(longest_window() + 1),
        high_(static_cast<std::size_t>(stream.length + stretch_ + 2 * margin_), 0),
        commanded_(high_) {
    for (const Burst& burst : stream.bursts) {
      for (Tick t = burst.start; t < burst.end() + stretch_; ++t) high_[index(t)] = 1;
      for (Tick t = burst.start; t < burst.end(); ++t) commanded_[index(t)] = 1;
    }
    for (std::size_t t = 1; t < high_.size(); ++t) rises_.push_back(high_[t] == 1 && high_[t - 1] == 0);
    rises_.insert(rises_.begin(), 0);
  }

  [[nodiscard]] Figure on_time_max() const {
    Figure figure;
    for (const Tick on : runs(high_, 1, stretch_))
      figure.worst = std::max(figure.worst, us(on) * (1 + clock_) + stretch_us_);
    figure.held = figure.worst <= profile_.limits.on_time_max_us + kHair / per_us_;
    return figure;
  }
  [[nodiscard]] Figure on_time_min() const {
    Figure figure{1e18, true};
    for (const Tick on : runs(high_, 1, stretch_))
      figure.worst = std::min(figure.worst, us(on) * (1 - clock_) + stretch_us_);
    figure.held = figure.worst >= profile_.limits.on_time_min_us - kHair / per_us_;
    return figure;
  }
  /// A coil that needs gaps needs them after every burst, however much the driver may add to it; one that
  /// needs none sees no gap that the stretch fills.
  [[nodiscard]] Figure gap() const {
    Figure figure{1e18, true};
    const bool needs_none = !(profile_.limits.gap_us > 0);
    for (const Tick low : runs(needs_none ? high_ : commanded_, 0, needs_none ? -stretch_ : 0))
      figure.worst = std::min(figure.worst, us(low) * (1 - clock_) - stretch_us_);
    figure.held = figure.worst >= profile_.limits.gap_us - kHair / per_us_;
    return figure;
  }
  [[nodiscard]] Figure duty(const DutyLimit& limit) const {
    const double ticks = limit.window_ms * 1000 * per_us_;
    const Tick most = most_in_any_window(high_, window_of(limit));
    return {100 * static_cast<double>(most) * (1 + clock_) / ticks,
            static_cast<double>(most) <= std::floor(ticks * limit.percent / 100 / (1 + clock_) + kHair)};
  }
  [[nodiscard]] Figure break_rate() const {
    const Tick most = most_in_any_window(rises_, rate_window());
    return {10.0 * static_cast<double>(most),
            static_cast<double>(most) <= std::floor(*profile_.limits.break_rate_hz / 10 + kHair)};
  }
  [[nodiscard]] bool holds_all() const {
    const auto& duties = profile_.limits.duty;
    return on_time_max().held && on_time_min().held && gap().held &&
           (!profile_.limits.break_rate_hz || break_rate().held) &&
           std::all_of(duties.begin(), duties.end(),
                       [this](const DutyLimit& limit) { return duty(limit).held; });
  }

  /// What the window of this limit that ends at `end` holds, in ticks.
  [[nodiscard]] Tick content_before(Tick end, const DutyLimit& limit) const {
    return sum(high_, end - window_of(limit), end);
  }
  /// Starts in the 100 ms that end with the start at `start`.
  [[nodiscard]] Tick starts_up_to(Tick start) const {
    return sum(rises_, start + 1 - rate_window(), start + 1);
  }

 private:
  static constexpr double kHair = 1e-6;  // of a tick: decimals have no exact double

  [[nodiscard]] double us(Tick t) const { return static_cast<double>(t) / per_us_; }
  [[nodiscard]] std::size_t index(Tick t) const { return static_cast<std::size_t>(t + margin_); }
  [[nodiscard]] Tick up(double ticks) const {
    return static_cast<Tick>(std::ceil(ticks / (1 - clock_) - kHair));
  }
  [[nodiscard]] Tick window_of(const DutyLimit& limit) const { return up(limit.window_ms * 1000 * per_us_); }
  [[nodiscard]] Tick rate_window() const { return up(1e5 * per_us_); }
  [[nodiscard]] Tick longest_window() const {
    Tick longest = rate_window();
    for (const DutyLimit& limit : profile_.limits.duty) longest = std::max(longest, window_of(limit));
    return longest;
  }
  // Lengths of the runs of `level` that have both their ends, each less `less`.
  [[nodiscard]] static std::vector<Tick> runs(const std::vector<int>& levels, int level, Tick less) {
    std::vector<Tick> lengths;
    std::size_t since = 0;
    for (std::size_t t = 1; t < levels.size(); ++t) {
      if (levels[t] == levels[t - 1]) continue;
      if (since > 0 && levels[t - 1] == level) lengths.push_back(static_cast<Tick>(t - since) - less);
      since = t;
    }
    return lengths;
  }
  [[nodiscard]] Tick sum(const std::vector<int>& row, Tick from, Tick until) const {
    Tick total = 0;
    for (Tick t = from; t < until; ++t) total += row[index(t)];
    return total;
  }
  [[nodiscard]] static Tick most_in_any_window(const std::vector<int>& row, Tick window) {
    Tick now = 0, most = 0;
    const auto width = static_cast<std::size_t>(window);
    for (std::size_t t = 0; t < row.size(); ++t) {
      now += row[t] - (t >= width ? row[t - width] : 0);
      most = std::max(most, now);
    }
    return most;
  }

  const Profile& profile_;
  double per_us_, clock_, stretch_us_;
  Tick stretch_, margin_;
  std::vector<int> high_, commanded_, rises_;
};

/// A tick is 100 us: the 100 ms of the break rate are a thousand ticks, few enough to look at one by one.
inline constexpr std::int64_t kCoarse_hz = 10'000;

/// Limits about as large as what `coarse_stream` holds, so that some hold and some do not, with decimals that
/// are no whole ticks.
inline Profile coarse_profile() {
  const auto tenths = [](int low, int high) { return *rc::gen::inRange(low, high) / 10.0; };
  const double tick_us = 1e6 / kCoarse_hz;
  Profile profile;
  profile.name = "coarse";
  profile.limits.on_time_min_us = *rc::gen::element(0.5, tenths(5, 40)) * tick_us;
  profile.limits.on_time_max_us = profile.limits.on_time_min_us + tenths(0, 200) * tick_us;
  profile.limits.gap_us = *rc::gen::element(0.0, tenths(1, 80)) * tick_us;
  double window_ticks = 0;  // each window longer than the one before: each has a name of its own
  for (int i = *rc::gen::inRange(1, 4); i > 0; --i)
    profile.limits.duty.push_back({(window_ticks += tenths(20, 400)) * tick_us / 1000, tenths(200, 1001)});
  if (*rc::gen::arbitrary<bool>()) profile.limits.break_rate_hz = tenths(100, 3000);
  profile.drive.pulse_stretch_ns = *rc::gen::element(0.0, tenths(0, 50), tenths(0, 400)) * tick_us * 1000;
  profile.drive.clock_tolerance_percent = *rc::gen::element(0.0, 0.5, tenths(0, 50));
  return profile;
}

inline BurstStream coarse_stream() {
  BurstStream stream{kCoarse_hz, 0, {}};
  const Tick longest_gap = *rc::gen::element<Tick>(4, 20, 150);
  Tick at = *rc::gen::inRange<Tick>(0, 10);
  for (int i = *rc::gen::inRange(0, 40); i > 0; --i) {
    const Tick on = *rc::gen::inRange<Tick>(1, 12);
    stream.bursts.push_back({at, on});
    at += on + *rc::gen::inRange<Tick>(0, longest_gap);
  }
  stream.length = at + *rc::gen::element<Tick>(0, *rc::gen::inRange<Tick>(0, 60));
  return stream;
}

/// For the report of a property that does not hold.
inline void log_case(const BurstStream& stream, const Profile& profile) {
  const Limits& limits = profile.limits;
  auto& log = RC_LOG();
  log << "on " << limits.on_time_min_us << " to " << limits.on_time_max_us << " us, gap " << limits.gap_us
      << " us, break rate " << limits.break_rate_hz.value_or(0) << " Hz, stretch "
      << profile.drive.pulse_stretch_ns << " ns, clock " << profile.drive.clock_tolerance_percent << " %\n";
  for (const DutyLimit& duty : limits.duty) log << duty.percent << " % of " << duty.window_ms << " ms\n";
  for (const Burst& burst : stream.bursts) log << burst.start << "+" << burst.on << " ";
  log << "length " << stream.length << " at " << stream.tick_hz << " Hz\n";
}

/// Raises the profile's limits to what the stream needs, and no further.
inline void fit_to(const BurstStream& stream, Profile& profile) {
  Limits& limits = profile.limits;
  const Judgement judgement = judge(stream, profile);
  limits.on_time_max_us = std::max(limits.on_time_max_us, judgement.limits[0].worst);
  limits.on_time_min_us = std::min(limits.on_time_min_us, judgement.limits[1].worst);
  limits.gap_us = std::clamp(judgement.limits[2].worst, 0.0, limits.gap_us);
  std::size_t next = 3;
  if (limits.break_rate_hz) {
    const double needed = judgement.limits[next++].worst;
    limits.break_rate_hz = std::max(*limits.break_rate_hz, needed);
  }
  for (DutyLimit& duty : limits.duty) duty.percent = std::max(duty.percent, judgement.limits[next++].worst);
}

}  // namespace burstloom::testing
