// Random limits and random wishes for property tests.
#pragma once

#include <rapidcheck.h>

#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/stream/wanted.hpp"

namespace burstloom::testing {

inline double between(double low, double high) {
  return low + (high - low) * *rc::gen::inRange(0, 100001) / 100000.0;
}

/// Limits as wild as a profile may hold, sensible or not: what they leave may be nothing at all.
inline Profile random_profile() {
  Profile profile;
  profile.name = "random";
  profile.limits.on_time_min_us = between(0.5, 20);
  profile.limits.on_time_max_us =
      profile.limits.on_time_min_us + between(0, *rc::gen::element(1.0, 50.0, 3000.0));
  profile.limits.gap_us = *rc::gen::element(0.0, between(0, 50), between(50, 2000));
  const int windows = *rc::gen::inRange(1, 5);
  for (int i = 0; i < windows; ++i)
    profile.limits.duty.push_back(
        {between(0.2, *rc::gen::element(10.0, 1000.0, 5000.0)), between(0.05, 100)});
  if (*rc::gen::arbitrary<bool>()) profile.limits.break_rate_hz = between(10, 5000);
  profile.drive.pulse_stretch_ns = *rc::gen::element(0.0, between(0, 3000));
  profile.drive.clock_tolerance_percent = *rc::gen::element(0.0, 0.5, between(0, 5));
  if (*rc::gen::arbitrary<bool>()) {
    profile.drive.bus_v = 100;
    profile.drive.bus_tolerance_percent = between(0, 20);
    profile.limits.peak_current_a = between(50, 200);
    profile.measured =
        MeasuredCurrent{100, false, {5, 20, 60}, {between(10, 40), between(40, 90), between(90, 150)}};
  }
  return profile;
}

/// `count` wished bursts in any order: spread out, crowded, all at once, too short, too long, far away.
inline std::vector<WantedBurst> random_wishes(std::int64_t tick_hz, std::size_t count) {
  const Tick span = *rc::gen::element<Tick>(0, tick_hz / 100, tick_hz, tick_hz * 20);
  const Tick longest_cap = *rc::gen::element<Tick>(0, tick_hz / 2000, tick_hz / 20);
  const auto seed = *rc::gen::arbitrary<std::uint64_t>();
  std::uint64_t state = seed | 1;
  const auto below =
      [&state](Tick limit) {  // xorshift: rapidcheck's own generators are slow for 10 000 bursts
        state ^= state << 13, state ^= state >> 7, state ^= state << 17;
        return limit <= 0 ? Tick{0} : static_cast<Tick>(state % static_cast<std::uint64_t>(limit));
      };
  std::vector<WantedBurst> wishes;
  for (std::size_t i = 0; i < count; ++i) {
    WantedBurst wish{.start = below(span + 1),
                     .on = below(tick_hz / 5000 + 2),
                     .cap = below(longest_cap + 1),
                     .weight = static_cast<std::uint32_t>(below(2000)),
                     .note = static_cast<std::uint32_t>(below(50)),
                     .voice = static_cast<std::uint16_t>(below(4))};
    switch (below(60)) {
      case 0:
        wish.on = 0;
        break;
      case 1:
        wish.on = kEndOfTime * 4;
        break;
      case 2:
        wish.start = -below(tick_hz);
        break;
      case 3:
        wish.start = kEndOfTime + below(tick_hz);
        break;
      case 4:
        wish.on = -5;
        break;
      case 5:
        wish.cap = kEndOfTime;
        break;
      default:
        break;
    }
    wishes.push_back(wish);
  }
  return wishes;
}

}  // namespace burstloom::testing
