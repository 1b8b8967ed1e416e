// The pair of temperatures that stands for a state.
#include "heat_of_songs.hpp"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <rapidcheck/gtest.h>

#include "burstloom/stream/one_stream.hpp"
#include "evening.hpp"

namespace burstloom::testing {
namespace {

double between(double low, double high) {
  return low + (high - low) * *rc::gen::inRange(0, 1'000'001) / 1e6;
}

Profile coil() {
  return read_profile(BURSTLOOM_SAMPLES "/coils/" +
                      *rc::gen::element<std::string>("bench-36v", "half-bridge-325v", "full-bridge-560v") +
                      ".toml");
}

// A train as dense as a profile may ask for, and denser: heat is all that matters here.
BurstStream train(const Profile& profile) {
  BurstStream stream;
  const auto on =
      static_cast<Tick>(2 * between(profile.limits.on_time_min_us, profile.limits.on_time_max_us));
  const auto period = static_cast<Tick>(static_cast<double>(on) * between(4, 40));
  const int bursts = *rc::gen::inRange(1, 3000);
  for (int i = 0; i < bursts; ++i) stream.bursts.push_back({stream.length + i * period, on});
  stream.length = bursts * period + *rc::gen::inRange<Tick>(0, 2'000'000);
  return stream;
}

// Whatever is played and however long the rest: from the pair nothing comes out cooler than from the state.
RC_GTEST_PROP(HeatOfSongs, ThePairIsNeverCoolerThanTheState, ()) {
  Profile profile = coil();
  // Foster pairs as slow as nobody has them: the memory of the junction may outlast the case's.
  if (*rc::gen::arbitrary<bool>()) profile.switches.foster.push_back({0.1, between(0.1, 60)});
  const HeatOfSongs heat(profile, kDefaultTickHz);
  const double start_c = profile.heatsink.ambient_c + between(0, 40);
  const BurstStream before = train(profile), after = train(profile);
  const Thermal state = heat.rested(heat.play(before, heat.at({start_c, start_c})).at_end, between(0, 3));
  const HeatStart pair = heat.never_cooler_than(state);
  RC_ASSERT(pair.case_c >= pair.sink_c);
  const Thermal stands_for = heat.at(pair);
  constexpr double kRounding_k = 0.002;
  RC_ASSERT(std::abs(pair.sink_c - state.sink_c()) < 0.011);
  const HeatOfStream real = heat.play(after, state), told = heat.play(after, stands_for);
  RC_ASSERT(told.junction_c >= real.junction_c - kRounding_k);
  RC_ASSERT(told.sink_c >= real.sink_c - kRounding_k);
  for (double rest_s = 0.001; rest_s < 3000; rest_s *= 3) {
    const Thermal later = heat.rested(state, rest_s), told_later = heat.rested(stands_for, rest_s);
    RC_ASSERT(told_later.junction_c() >= later.junction_c() - kRounding_k);
    RC_ASSERT(told_later.sink_c() >= later.sink_c() - kRounding_k);
  }
}

// After some seconds' rest a case is as warm as its sink, nearly: the pair says so and does not exaggerate.
TEST(HeatOfSongs, ThePairIsCloseAfterARest) {
  const Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  const HeatOfSongs heat(profile, kDefaultTickHz);
  BurstStream song;
  for (Tick at = 0; at < 20'000'000; at += 2000) song.bursts.push_back({at, 60});
  song.length = 20'000'000;
  const Thermal state = heat.rested(heat.play(song, heat.at({25, 25})).at_end, 10);
  EXPECT_GT(state.sink_c(), 25.2);
  const HeatStart pair = heat.never_cooler_than(state);
  EXPECT_NEAR(pair.sink_c, state.sink_c(), 0.01);
  EXPECT_NEAR(pair.case_c, state.sink_c(), 0.05);
}

TEST(HeatOfSongs, TheHottestStartIsTheHottest) {
  const Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  const HeatOfSongs heat(profile, kDefaultTickHz);
  BurstStream song;
  for (Tick at = 0; at < 20'000'000; at += 2000) song.bursts.push_back({at, 60});
  song.length = 20'000'000;
  const auto hottest_c = heat.hottest_start_c(song);
  ASSERT_TRUE(hottest_c);
  EXPECT_TRUE(heat.holds(song, {*hottest_c, *hottest_c}));
  EXPECT_FALSE(heat.holds(song, {*hottest_c + 0.02, *hottest_c + 0.02}));
}

TEST(Evening, IsTheSongsAndTheirPauses) {
  const BurstStream one{2'000'000, 100, {{0, 10}, {50, 20}}}, two{2'000'000, 40, {{5, 1}}};
  EXPECT_EQ(one_stream({&one, &two, &one}, {7, 3, 99}),
            (BurstStream{2'000'000, 250, {{0, 10}, {50, 20}, {112, 1}, {150, 10}, {200, 20}}}));
  EXPECT_EQ(ticks_of_pause(1.0000001, 2'000'000), 2'000'001);
  EXPECT_EQ(ticks_of_pause(2, 2'000'000), 4'000'000);
}

}  // namespace
}  // namespace burstloom::testing
