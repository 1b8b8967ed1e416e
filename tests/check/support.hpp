// Small profiles, streams and look-ups for the judge's tests.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "burstloom/check/judge.hpp"

namespace burstloom {
inline void PrintTo(Verdict verdict, std::ostream* out) {
  *out << name_of(verdict);
}
}  // namespace burstloom

namespace burstloom::testing {

/// Limits that a test sets one by one; what it leaves alone cannot be passed. No clock tolerance, no stretch.
inline Profile lenient_profile() {
  Profile profile;
  profile.name = "lenient";
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 0.5;
  profile.limits.on_time_max_us = 1e6;
  profile.limits.gap_us = 0.5;
  profile.limits.duty = {{1000, 100}};
  return profile;
}

/// At two ticks a microsecond.
inline BurstStream stream_of(std::vector<Burst> bursts, Tick length = 0) {
  BurstStream stream{2'000'000, length, std::move(bursts)};
  if (!stream.bursts.empty()) stream.length = std::max(length, stream.bursts.back().end());
  return stream;
}

inline const LimitResult& result_of(const Judgement& judgement, const std::string& limit) {
  for (const LimitResult& it : judgement.limits)
    if (it.limit == limit) return it;
  throw std::runtime_error("the judgement does not name " + limit);
}

}  // namespace burstloom::testing
