// Where the judge takes a quick way it must not show: at the borders of its blocks and tables it says what
// plain sums say.
#include <gtest/gtest.h>

#include <cmath>

#include "../../src/check/judge/limit_tracker.hpp"
#include "../../src/check/judge/resistance_curve.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using judge_detail::ResistanceCurve;
using testing::result_of;

Profile coil(const std::string& name) {
  Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
  profile.drive.pulse_stretch_ns = 0;  // it is rounded up to a tick
  return profile;
}

// The same song in finer ticks is as hot, yet every gap and on-time is another row of the tables. Gaps of
// nothing, at each table's edges, of what the case makes in a moment, and of hours.
TEST(FastWays, HeatIsTheSameInFinerTicks) {
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"}) {
    const Profile profile = coil(name);
    BurstStream coarse{2'000'000, 0, {}};
    for (const Tick gap :
         {Tick{0}, Tick{1}, Tick{254}, Tick{255}, Tick{256}, Tick{257}, Tick{511}, Tick{512}, Tick{25'600},
          Tick{65'534}, Tick{65'535}, Tick{65'536}, Tick{65'537}, Tick{90'000}, (Tick{1} << 24) - 1,
          Tick{1} << 24, (Tick{1} << 32) + 5, Tick{7'200} * 2'000'000, Tick{1} << 41})
      for (const Tick on : {20, 45, 79, 80}) {
        coarse.bursts.push_back({coarse.length + gap, on});
        coarse.length = coarse.bursts.back().end();
      }
    for (const Tick times : {3, 10, 50}) {
      BurstStream fine{coarse.tick_hz * times, coarse.length * times, {}};
      for (const Burst& it : coarse.bursts) fine.bursts.push_back({it.start * times, it.on * times});
      const Judgement is = judge(fine, profile, {.seek_rest = false}),
                      was = judge(coarse, profile, {.seek_rest = false});
      for (const char* limit : {"junction", "heatsink"}) {
        EXPECT_NEAR(result_of(is, limit).worst, result_of(was, limit).worst, 1e-9) << name << " x " << times;
        EXPECT_DOUBLE_EQ(result_of(is, limit).at_s, result_of(was, limit).at_s) << name << " x " << times;
      }
    }
  }
}

// After each gap of a row the last burst alone tells how much was left of what the first ones did.
TEST(FastWays, CoolingIsTheSameInFinerTicksAfterEveryGap) {
  Profile profile = coil("bench-36v");
  profile.heatsink.start_c = 60;  // cools towards ambient: what is left is the junction's start
  for (Tick gap = 1; gap < 70'000; gap += gap < 300 ? 1 : 251) {
    const auto junction_c = [&](Tick times) {
      BurstStream stream{2'000'000 * times, 0, {}};
      stream.bursts = {{0, 20 * times}, {(20 + gap) * times, 80 * times}};
      stream.length = stream.bursts.back().end();
      return result_of(judge(stream, profile, {.seek_rest = false}), "junction").worst;
    };
    ASSERT_NEAR(junction_c(1), junction_c(7), 1e-9) << "gap " << gap;
  }
}

// By halving: cool + resistive_k * factor is where the curve has the factor.
double settled_by_halving(double rate, double fixed_c, double resistive_k) {
  double low = 0, high = 1e3;  // the lowest solution lies where the curve is first below
  for (int i = 0; i < 4'000; ++i) {
    high = low + 1e3 / 4'000;
    if (std::exp(rate * (std::clamp(fixed_c + resistive_k * high, -100.0, 300.0) - 25)) <= high) break;
    low = high;
  }
  for (int i = 0; i < 200; ++i) {
    const double middle = (low + high) / 2;
    const bool above =
        std::exp(rate * (std::clamp(fixed_c + resistive_k * middle, -100.0, 300.0) - 25)) > middle;
    (above ? low : high) = middle;
  }
  return low;
}

TEST(FastWays, ResistanceSettlesWhereItAgreesWithTheJunction) {
  for (const double base : {1.0, 1.3, 1.9, 4.0}) {
    const double rate = std::log(base) / 125;
    const ResistanceCurve curve(rate);
    for (const double cool_c :
         {-100.0, -99.99, -40.0, 24.93, 25.0, 25.0625, 25.07, 110.0, 200.0, 299.9, 300.0, 450.0})
      for (const double resistive_k : {0.0, 1e-3, 0.5, 0.9, 1.2, 1.5, 1.9, 3.0, 8.0}) {
        const double there = settled_by_halving(rate, cool_c, resistive_k);
        EXPECT_NEAR(curve.settled(cool_c, resistive_k), there, 2e-9 * there)
            << base << ", " << cool_c << " C, " << resistive_k << " K";
      }
    for (double c = -120; c < 320; c += 0.37)
      EXPECT_NEAR(curve.at(c), std::exp(rate * (std::clamp(c, -100.0, 300.0) - 25)), 1e-12)
          << base << ", " << c;
  }
}

// One burst that stands out, at every place about the borders of the blocks that the judge works in, however
// they were handed to it.
TEST(FastWays, NothingIsLostAtABlocksBorder) {
  const Profile profile = coil("bench-36v");
  for (const std::size_t place : {0u, 1u, 254u, 255u, 256u, 257u, 511u, 512u, 513u, 599u}) {
    BurstStream stream{2'000'000, 0, {}};
    for (std::size_t i = 0; i < 600; ++i)
      stream.bursts.push_back(
          {static_cast<Tick>(i) * 1'000 + (i == place ? -500 : 0) + 500, i == place ? 82 : 20});
    stream.length = stream.bursts.back().end();
    const Burst& odd = stream.bursts[place];
    for (const std::size_t size : {1u, 255u, 256u, 257u, 600u}) {
      RunningJudge running(profile, stream.tick_hz, {});
      for (std::size_t at = 0; at < stream.bursts.size(); at += size)
        running.take(std::span(stream.bursts).subspan(at, std::min(size, stream.bursts.size() - at)));
      const Judgement said = running.finish(stream.length, false);
      const auto at_s = [&](const char* limit) { return result_of(said, limit).at_s; };
      EXPECT_DOUBLE_EQ(at_s("on-time max"), stream.seconds(odd.start)) << place << " in " << size;
      EXPECT_DOUBLE_EQ(at_s("peak current"), stream.seconds(odd.start)) << place << " in " << size;
      EXPECT_DOUBLE_EQ(at_s("junction"), stream.seconds(odd.end())) << place << " in " << size;
      if (place > 0) {
        EXPECT_DOUBLE_EQ(at_s("gap"), stream.seconds(odd.start)) << place << " in " << size;
      }
      EXPECT_EQ(said.violations_in_all, 1) << place << " in " << size;  // longer than the coil may be on
    }
  }
}

// A passage at full duty, then slivers that never come near it: what no window reaches is let go all the
// same.
TEST(FastWays, WindowsLetGoOfWhatTheyDoNotReach) {
  using namespace judge_detail;
  const auto end_of = [](const GateInterval& it) { return it.end; };
  const auto ignore = [](Tick, Tick) {};
  constexpr Tick kWindow = 1'000'000;
  FullestWindow fullest(kWindow);
  BusiestWindow busiest(kWindow);
  HeaviestWindow heaviest(kWindow);
  RingBuffer<GateInterval> gate;
  gate.push({0, kWindow, kWindow, kWindow});
  for (Tick block = 1; block < 100; ++block) {
    const std::size_t from = gate.size();
    for (Tick i = 0; i < 100; ++i) {
      const Tick start = kWindow * block + i * 10'000 + 1;
      gate.push({start, start + 1, start + 1, start + 2});
    }
    slide(fullest, gate, from, end_of, ignore);
    slide(busiest, gate, from, ignore);
    slide(heaviest, gate, from, [](std::size_t number) { return number == 1 ? 1e9 : 1.0; });
    for (const std::size_t oldest : {fullest.oldest(), busiest.oldest(), heaviest.oldest()})
      ASSERT_LE(gate.size() - oldest, 300u) << block;
  }
}

// An on-time that is past its limit is counted each time, and one that is not may come between.
TEST(FastWays, EveryViolationCountsHoweverOftenTheOnTimeCame) {
  const Profile profile = coil("bench-36v");
  BurstStream stream{2'000'000, 0, {}};
  for (Tick i = 0; i < 900; ++i) stream.bursts.push_back({i * 20'000, i % 3 == 1 ? 90 : 30});
  stream.length = stream.bursts.back().end();
  EXPECT_EQ(judge(stream, profile).violations_in_all, 300);
}

}  // namespace
}  // namespace burstloom
