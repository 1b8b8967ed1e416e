// Promise 8: the rest before a song may start again, by really playing it again and looking at every tick.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "tick_by_tick.hpp"

namespace burstloom {
namespace {

using testing::coarse_profile;
using testing::coarse_stream;
using testing::lenient_profile;
using testing::stream_of;
using testing::TickByTick;

// Often enough that the longest window lies within what is played.
BurstStream played_often(const BurstStream& song, Tick rest, Tick longest_window) {
  BurstStream often{song.tick_hz, 0, {}};
  const Tick period = song.length + rest;
  for (Tick played = 0; played < 3 || played * period < longest_window + 2 * period; ++played)
    for (const Burst& burst : song.bursts) often.bursts.push_back({burst.start + played * period, burst.on});
  often.length = often.bursts.back().end() + rest;
  return often;
}

// At a thousand ticks a second the rest is told to the tick.
struct Repeated {
  Profile profile;
  BurstStream song;
  Tick rest = 0;

  [[nodiscard]] bool holds_with(Tick silence) const {
    const BurstStream often = played_often(song, silence, 120);  // the break rate's 100 ms, in ticks, widened
    return TickByTick(often, profile).holds_all();
  }
};

Repeated repeated() {
  Repeated it{coarse_profile(), coarse_stream()};
  // The same limits ten times as long fit a tick that is ten times as long; then 100 ms are a hundred ticks.
  it.song.tick_hz = 1000;
  Limits& limits = it.profile.limits;
  limits.on_time_min_us = 500;
  limits.on_time_max_us *= 10;
  limits.gap_us *= 10;
  for (DutyLimit& duty : limits.duty) duty.window_ms *= 10;
  it.profile.drive.pulse_stretch_ns *= 10;
  RC_PRE(!it.song.bursts.empty());
  testing::fit_to(it.song, it.profile);
  const Judgement judgement = judge(it.song, it.profile);
  testing::log_case(it.song, it.profile);
  RC_PRE(judgement.verdict == Verdict::within_limits);
  RC_ASSERT(judgement.rest_before_repeat_s.has_value());
  it.rest = static_cast<Tick>(std::llround(*judgement.rest_before_repeat_s * 1000));
  return it;
}

RC_GTEST_PROP(Repeat, AfterTheRestTheSongMayStartForEver, ()) {
  const Repeated it = repeated();
  RC_CLASSIFY(it.rest > 0, "needs a rest");
  RC_ASSERT(it.holds_with(it.rest));
}

RC_GTEST_PROP(Repeat, ATickSoonerItMayNot, ()) {
  const Repeated it = repeated();
  RC_PRE(it.rest > 0);
  // Two ends that touch or that the stretch joins count as two bursts, to be on the safe side.
  const Tick dip = it.song.length - it.song.bursts.back().end() + it.song.bursts.front().start + it.rest - 1;
  RC_PRE(static_cast<double>(dip) > it.profile.drive.pulse_stretch_ns * 1e-6 + 1);
  RC_ASSERT(!it.holds_with(it.rest - 1));
}

// Whoever starts it again by hand is later than the rest by any time.
RC_GTEST_PROP(Repeat, AnyTimeLaterItMay, ()) {
  const Repeated it = repeated();
  for (Tick later = 1; later < 8; ++later) RC_ASSERT(it.holds_with(it.rest + later));
}

// The last burst ends where the song does and the first begins with it: in a loop they are one burst, a tick
// apart they are two that are too close.
TEST(Repeat, ASongThatMayLoopMayAlsoStartALittleLater) {
  Profile profile = lenient_profile();
  profile.limits.gap_us = 5000;
  const BurstStream song = stream_of({{0, 100}, {100'000, 100}});
  const double rest_s = judge(song, profile).rest_before_repeat_s.value();
  EXPECT_GE(rest_s, 0.005);
  EXPECT_LE(rest_s, 0.006);
}

TEST(Repeat, ASongThatIsOutsideHasNoRest) {
  Profile profile = lenient_profile();
  profile.limits.on_time_max_us = 5;
  EXPECT_FALSE(judge(stream_of({{0, 11}}), profile).rest_before_repeat_s.has_value());
}

}  // namespace
}  // namespace burstloom
