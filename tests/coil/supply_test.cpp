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

BurstStream unrolled(const BurstStream& stream, Tick rest, int times) {
  BurstStream all = stream;
  for (int i = 1; i < times; ++i)
    for (const Burst& burst : stream.bursts)
      all.bursts.push_back({burst.start + i * (stream.length + rest), burst.on});
  all.length = times * (stream.length + rest);
  return all;
}

RC_GTEST_PROP(WorstWindow, OfARepeatIsThatOfTheUnrolledStream, ()) {
  BurstStream stream = random_stream();
  stream.length += 1;
  const Tick rest = *rc::gen::inRange<Tick>(0, 50), window = *rc::gen::inRange<Tick>(1, 300);
  const int times = static_cast<int>(window / (stream.length + rest)) + 3;
  const double plain = worst_window(unrolled(stream, rest, times), window, square).sum;
  RC_ASSERT(std::abs(worst_window_repeated(stream, rest, window, square).sum - plain) < 1e-9 * (1 + plain));
}

RC_GTEST_PROP(RestForWindow, IsTheShortestThatHolds, ()) {
  BurstStream stream = random_stream();
  stream.length += 1;
  stream.tick_hz = 1000;  // a millisecond a tick: rests are exact
  const Tick window = *rc::gen::inRange<Tick>(1, 200);
  const double most = worst_window(stream, window, square).sum * between(.8, 1.5);
  const auto rest_s = rest_for_window_s(stream, window, square, most);
  if (worst_window(stream, window, square).sum > most) {
    RC_ASSERT(!rest_s.has_value());
    return;
  }
  const Tick rest = std::llround(*rest_s * 1000);
  RC_ASSERT(worst_window_repeated(stream, rest, window, square).sum <= most * (1 + 1e-12));
  if (rest > 0) RC_ASSERT(worst_window_repeated(stream, rest - 1, window, square).sum > most * (1 - 1e-12));
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

// RMS of Ip 20 A at a duty of 0.1: a rectangle Ip sqrt(D), a sine burst Ip sqrt(D / 2), one whose envelope
// rises evenly Ip sqrt(D / 6); a trapezoid from 4 to 10 A at 0.3, sqrt(D (a^2 + a b + b^2) / 3). Common
// handbook forms.
TEST(TankCurrent, RmsIsTheHandbooks) {
  const auto rms = [](Tick on, double i2t) {
    BurstStream stream;
    for (Tick i = 0; i < 1000; ++i) stream.bursts.push_back({i * 2000, on});
    stream.length = 2'000'000;
    Profile p;
    p.drive.clock_tolerance_percent = 0;
    return worst_tank_a_rms(stream, p,
                            [i2t](Tick) {
                              BurstFigures f;
                              f.i2t_a2s = i2t * .75;
                              f.i2t_ring_down_a2s = i2t * .25;
                              return f;
                            })
        .value;
  };
  EXPECT_NEAR(rms(200, 400 * 1e-4), 6.324555, 7e-6);
  EXPECT_NEAR(rms(200, 400 / 2. * 1e-4), 4.472136, 5e-6);
  EXPECT_NEAR(rms(200, 400 / 6. * 1e-4), 2.581989, 3e-6);
  EXPECT_NEAR(rms(600, (16 + 40 + 100) / 3. * 3e-4), 3.949684, 4e-6);
}

// 1000 uF at 325 V hold 52.81 J; 1 J from it takes 3.0916 V (own evaluation of C V^2 / 2).
TEST(Bus, DropsByAnEnergy) {
  Bus bus(325, 1000e-6, 1);
  EXPECT_NEAR(.5 * 1000e-6 * 325 * 325, 52.81, .005);
  bus.draw(1);
  EXPECT_NEAR(325 - bus.volts(), 3.0916, 3e-6 * 3.0916 + 5e-5);
  bus.draw(1000);
  EXPECT_EQ(bus.volts(), 0);
}

// Ripple I / (2 f C): 1 A, 1000 uF: 10.0 V at 50 Hz, 8.333 V at 60 Hz. Common practice, an upper bound.
TEST(Bus, RipplesAsAnUpperBound) {
  EXPECT_NEAR(full_wave_ripple_v(1, 50, 1000e-6), 10, 1e-9);
  EXPECT_NEAR(full_wave_ripple_v(1, 60, 1000e-6), 8.333, 4e-4);
}

// Without charging the burst takes V exp(-E / (C V^2)).
TEST(Bus, DroopsExponentiallyUnderABurst) {
  Bus bus(36, 470e-6, 1e-9);
  bus.burst(50e-6, .01);
  EXPECT_NEAR(bus.volts(), 36 * std::exp(-.01 / (470e-6 * 36 * 36)), 1e-9);
  bus = Bus(36, 470e-6, 2);
  bus.draw(.05);
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
