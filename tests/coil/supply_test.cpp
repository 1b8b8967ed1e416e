// Windows at every position, and the bus.
#include "burstloom/coil/supply.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "heat_sample.hpp"
#include "thermal_by_hand.hpp"

namespace burstloom {
namespace {

using testing::between;
using testing::even_burst;
using testing::warm_profile;

double square(Tick on) {
  return static_cast<double>(on * on);
}

// What is in [from, from + window), burst by burst.
double content(const BurstStream& stream, Tick from, Tick window) {
  double sum = 0;
  for (const Burst& burst : stream.bursts) {
    const Tick inside = std::min(burst.end(), from + window) - std::max(burst.start, from);
    if (inside > 0) sum += square(burst.on) * static_cast<double>(inside) / static_cast<double>(burst.on);
  }
  return sum;
}

BurstStream random_stream() {
  BurstStream stream;
  Tick now = 0;
  const int bursts = *rc::gen::inRange(0, 12);
  for (int i = 0; i < bursts; ++i) {
    now += *rc::gen::inRange<Tick>(0, 30);
    stream.bursts.push_back({now, *rc::gen::inRange<Tick>(1, 20)});
    now = stream.bursts.back().end();
  }
  stream.length = now + *rc::gen::inRange<Tick>(0, 30);
  return stream;
}

RC_GTEST_PROP(WorstWindow, IsTheFullestOfAllPositions, ()) {
  const BurstStream stream = random_stream();
  const Tick window = *rc::gen::inRange<Tick>(1, 120);
  double fullest = 0;
  for (Tick from = -window; from <= stream.length; ++from)
    fullest = std::max(fullest, content(stream, from, window));
  const WorstWindow worst = worst_window(stream, window, square);
  RC_ASSERT(std::abs(worst.sum - fullest) < 1e-9 * (1 + fullest));
  RC_ASSERT(std::abs(content(stream, worst.end - window, window) - worst.sum) < 1e-9 * (1 + fullest));
}

// The quick look says no only where no window holds more, and what is said of a supply is the plain worst.
RC_GTEST_PROP(WorstWindow, QuickLookIsOnTheStrictSide, ()) {
  const BurstStream stream = random_stream();
  RC_PRE(!stream.bursts.empty());
  const Tick window = *rc::gen::inRange<Tick>(1, 400);
  const double worst = worst_window(stream, window, square).sum;
  RC_ASSERT(!surely_no_window_holds_more(stream, window, square, worst * between(.3, .999) - 1e-9));
  Profile p = warm_profile();
  const FiguresOf figures_of = [](Tick on) {
    BurstFigures f = even_burst();
    f.energy_j = square(on);
    return f;
  };
  const double worst_w = worst_supply_w(stream, p, figures_of).value, most_w = worst_w * between(.2, 5);
  const auto above = supply_w_above(stream, p, figures_of, most_w);
  RC_ASSERT(above.has_value() == (worst_w > most_w));
  RC_ASSERT(!above || above->value == worst_w);
}

// Spread thin, at a tenth of what is allowed, a stream needs no more than the look.
TEST(WorstWindow, QuickLookSeesThatLittleIsLittle) {
  BurstStream stream{kDefaultTickHz, 100'000'000, {}};
  for (Tick k = 0; k < 1'000; ++k) stream.bursts.push_back({k * 100'000, 10});
  EXPECT_TRUE(surely_no_window_holds_more(stream, 2'000'000, square, 21 * square(10) * 10));
  EXPECT_FALSE(surely_no_window_holds_more(stream, 5, square, 1e9)) << "bursts longer than the window";
}

// 90 W for half a second in the middle of a quiet song: the mean over any second is 45 W.
TEST(Supply, MeanIsOverAnySecond) {
  Profile p = warm_profile();
  p.drive.clock_tolerance_percent = 0;
  BurstStream stream;
  for (Tick i = 0; i < 500; ++i) stream.bursts.push_back({1'500'000 + i * 2000, 40});
  stream.length = 20'000'000;
  const FiguresOf figures_of = [](Tick) {
    BurstFigures f = even_burst();
    f.energy_j = .09;
    return f;
  };
  const WorstMean worst = worst_supply_w(stream, p, figures_of);
  EXPECT_NEAR(worst.value, 45, 1e-9);
  EXPECT_NEAR(worst.at_s, 1.24902, 1e-9);
  p.drive.clock_tolerance_percent = 1;  // a fast clock: the window is 1.01 s of the stream's own time
  for (Tick i = 500; i < 1005; ++i) stream.bursts.push_back({1'500'000 + i * 2000, 40});
  EXPECT_NEAR(worst_supply_w(stream, p, figures_of).value, 90 * 1.005, 1e-9);
}

// Without charging the burst takes V exp(-E / (C V^2)).
TEST(Bus, DroopsExponentiallyUnderABurst) {
  Bus bus(36, 470e-6, 1e-9);
  bus.burst(50e-6, .01);
  EXPECT_NEAR(bus.volts(), 36 * std::exp(-.01 / (470e-6 * 36 * 36)), 1e-9);
  bus = Bus(36, 470e-6, 2);
  bus.set_volts(30);
  const double low = bus.volts();
  bus.gap(1e-4);
  EXPECT_NEAR(bus.volts() - low, 2 * 1e-4 / 470e-6, 1e-12);
  bus.gap(1);
  EXPECT_EQ(bus.volts(), 36);
}

RC_GTEST_PROP(Bus, IsTheFineIntegrationOfItsEquation, ()) {
  const double c = between(100e-6, 5e-3), amps = between(.1, 10), seconds = between(1e-5, 5e-3);
  const double energy = between(0, .5) * c * 36 * 36;
  Bus bus(36, c, amps), cut(36, c, amps);
  double v = 36;
  for (int i = 0; i < 4000; ++i) {
    const auto slope = [&](double volts) { return amps / c - energy * volts / (c * 36 * 36 * seconds); };
    const double dt = seconds / 4000, half = v + slope(v) * dt / 2;
    v = std::min(36.0, v + slope(half) * dt);
  }
  bus.burst(seconds, energy);
  RC_ASSERT(std::abs(bus.volts() - v) < 1e-4);
  cut.burst(seconds / 3, energy / 3);
  cut.burst(seconds * 2 / 3, energy * 2 / 3);
  RC_ASSERT(std::abs(bus.volts() - cut.volts()) < 1e-9);
}

TEST(Bus, OfAStreamHasItsLowestAndItsCurve) {
  Profile p = warm_profile();
  p.drive.bus_tolerance_percent = 10;
  p.supply = {470, 2.5};
  BurstStream stream;
  for (Tick i = 0; i < 10; ++i) stream.bursts.push_back({i * 2000, 40});
  stream.bursts[7].on = 400;
  stream.length = 20'000;
  const FiguresOf figures_of = [](Tick on) {
    BurstFigures f;
    f.energy_j = 1.21 * .0001 * static_cast<double>(on);
    return f;
  };
  const auto bus = bus_of_stream(stream, p, figures_of, 10);
  ASSERT_TRUE(bus.has_value());
  EXPECT_EQ(bus->nominal_v, 36);
  EXPECT_DOUBLE_EQ(bus->lowest_at_s, stream.seconds(14'400));
  EXPECT_DOUBLE_EQ(bus->curve[7].volts, bus->lowest_v);
  Bus by_hand(36, 470e-6, 2.5);
  for (const Burst& burst : stream.bursts) {
    by_hand.burst(stream.seconds(burst.on), .0001 * static_cast<double>(burst.on));
    if (burst.on == 400) {
      EXPECT_NEAR(by_hand.volts(), bus->lowest_v, 1e-9);
    }
    by_hand.gap(stream.seconds(2000 - burst.on));
  }
  EXPECT_NEAR(bus->end_v, by_hand.volts(), 1e-9);
  EXPECT_EQ(supply_rating_w(p), 90.0);
  p.supply.current_limit_a.reset();
  EXPECT_FALSE(bus_of_stream(stream, p, figures_of).has_value());
  EXPECT_FALSE(supply_rating_w(p).has_value());
}

TEST(Bus, RefusesWhatIsNone) {
  EXPECT_THROW(Bus(0, 1, 1), Error);
  EXPECT_THROW(Bus(36, -1, 1), Error);
  EXPECT_THROW(Bus(36, 1, std::nan("")), Error);
}

TEST(Window, RefusesNoLength) {
  EXPECT_THROW((void)worst_window(BurstStream{}, 0, square), Error);
}

}  // namespace
}  // namespace burstloom
