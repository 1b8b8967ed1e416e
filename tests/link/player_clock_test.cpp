// The player's clock as the computer sees it, against the truth: a clock that drifts, statuses that come late
// or not at all.
#include "burstloom/link/player_clock.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <deque>
#include <functional>
#include <random>

namespace {

using burstloom::PlayerClock;
using burstloom::Tick;

constexpr double kTickHz = 2'000'000;

double part(std::mt19937& dice) {
  return std::uniform_real_distribution<double>(0, 1)(dice);
}

struct Case {
  double drift = 0;
  std::function<double(double)> delay_s;  // of a status composed at that moment
  double lost = 0;                        // so many of them
  Tick song_at_zero = -4'000;
};

struct Error {
  double most_early_s = 0, most_late_s = 0;
};

// Statuses every 10 ms for `length_s`, asked every millisecond; how far it is off from `from_s` on.
Error error_of(const Case& given, double from_s, double length_s) {
  std::mt19937 dice(7);
  PlayerClock clock(static_cast<std::int64_t>(kTickHz));
  const auto truth = [&](double s) {
    return given.song_at_zero + static_cast<Tick>(std::llround(s * (1 + given.drift) * kTickHz));
  };
  Error error;
  double arrives_s = 0;  // a line keeps the order
  std::deque<std::pair<double, std::uint32_t>> on_the_way;
  Tick before = truth(0) - 1'000'000;
  for (int ms = 0; ms < length_s * 1'000; ++ms) {
    const double now_s = ms / 1000.0;
    if (ms % 10 == 0 && part(dice) >= given.lost) {
      arrives_s = std::max(arrives_s, now_s + given.delay_s(now_s));
      on_the_way.emplace_back(arrives_s, static_cast<std::uint32_t>(truth(now_s)));
    }
    for (; !on_the_way.empty() && on_the_way.front().first <= now_s; on_the_way.pop_front())
      clock.hear(now_s, on_the_way.front().second);
    const auto told = clock.now(now_s);
    if (!told) continue;
    EXPECT_GE(*told, before) << "went back";
    before = *told;
    if (now_s < from_s) continue;
    const double early_s = static_cast<double>(*told - truth(now_s)) / kTickHz;
    error.most_early_s = std::max(error.most_early_s, early_s);
    error.most_late_s = std::max(error.most_late_s, -early_s);
  }
  return error;
}

std::function<double(double)> up_to(double most_s, unsigned seed) {
  return [most_s, dice = std::mt19937(seed)](double) mutable { return part(dice) * most_s; };
}
// An adapter that hands over what it has every 16 ms.
double in_16_ms_steps(double now_s) {
  return std::ceil(now_s / 0.016) * 0.016 - now_s;
}

TEST(player_clock, knows_nothing_at_first) {
  PlayerClock clock(2'000'000);
  EXPECT_EQ(clock.now(1), std::nullopt);
  clock.hear(1, static_cast<std::uint32_t>(-4'000));
  EXPECT_EQ(clock.now(1), -4'000);
  EXPECT_EQ(clock.now(1.5), 996'000);
}

void expect_within(const Error& error, double most_early_s, double most_late_s, double drift) {
  EXPECT_LE(error.most_early_s, most_early_s) << drift;
  EXPECT_LE(error.most_late_s, most_late_s) << drift;
}

// The bounds that player_clock.hpp states.
TEST(player_clock, is_as_exact_as_stated_with_drift_and_jitter) {
  for (const double drift : {-0.01, -0.005, 0.0, 0.005, 0.01})
    for (unsigned seed = 1; seed <= 5; ++seed) {
      expect_within(error_of({drift, up_to(0.02, seed)}, 3, 60), 0.0005, 0.0025, drift);
      expect_within(error_of({drift, up_to(0.02, seed)}, 2, 3), 0.0015, 0.004, drift);
      expect_within(error_of({drift, up_to(0.02, seed)}, 0.2, 2), 0.006, 0.008, drift);
    }
}
TEST(player_clock, bears_an_adapter_that_hands_over_every_16_ms) {
  for (const double drift : {-0.01, 0.0, 0.01})
    expect_within(error_of({drift, in_16_ms_steps}, 3, 60), 0.0005, 0.0025, drift);
}
TEST(player_clock, bears_lost_statuses) {
  for (const double drift : {-0.01, 0.01})
    expect_within(error_of({drift, up_to(0.02, 3), 0.8}, 3, 60), 0.003, 0.0065, drift);
}
// For a while nothing comes in time: it runs on at the rate it has learnt.
TEST(player_clock, runs_on_while_all_statuses_are_late) {
  auto usual = up_to(0.02, 4);
  const auto stuck = [&](double now_s) { return now_s > 10 && now_s < 12 ? 0.15 : usual(now_s); };
  expect_within(error_of({0.005, stuck}, 3, 20), 0.0015, 0.004, 0.005);
}
TEST(player_clock, goes_on_where_the_counter_turns_over) {
  const Error error = error_of({0.005, up_to(0.02, 5), 0, (Tick{1} << 31) - 20'000'000}, 2, 30);
  expect_within(error, 0.0015, 0.004, 0.005);
  PlayerClock clock(2'000'000);
  Tick truth = 0;
  for (int s = 0; s < 5'000; ++s, truth += 2'000'000) clock.hear(s, static_cast<std::uint32_t>(truth));
  EXPECT_NEAR(static_cast<double>(*clock.now(5'000)), static_cast<double>(truth), 2);
  EXPECT_GT(truth, Tick{1} << 33);
}
TEST(player_clock, is_not_led_astray_by_a_damaged_status) {
  PlayerClock clock(2'000'000);
  for (int i = 0; i < 300; ++i)
    clock.hear(i * 0.01, i == 200 || i == 210 ? 0x12345678u : static_cast<std::uint32_t>(i * 20'000));
  EXPECT_NEAR(static_cast<double>(*clock.now(3)), 6'000'000, 10);
}
TEST(player_clock, keeps_the_rate_when_a_song_begins) {
  PlayerClock clock(2'000'000);
  for (int i = 0; i < 500; ++i) clock.hear(i * 0.01, static_cast<std::uint32_t>(i * 20'200 + 12'345));
  clock.restart();
  clock.hear(5, static_cast<std::uint32_t>(-4'000));
  EXPECT_NEAR(static_cast<double>(*clock.now(5.5)), -4'000 + 0.5 * 2'020'000, 200);
}

}  // namespace
