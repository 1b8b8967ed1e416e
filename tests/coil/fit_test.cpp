// The fit finds the values that made the points, says truly how well it knows them, and refuses what cannot
// be told.
#include "burstloom/coil/fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <random>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/waveform.hpp"
#include "burstloom/common/error.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

Profile sample() {
  return parse_profile(kSample, "c");
}

// What a scope would show of the coil, with an error of `noise` (one standard deviation, as a share).
std::vector<BenchPoint> measured(const Profile& profile, std::vector<double> on_times_us, double noise,
                                 unsigned seed) {
  std::mt19937 dice(seed);
  std::normal_distribution<double> error(0, noise);
  std::vector<BenchPoint> points;
  for (const bool loaded : {true, false})
    for (const double on_us : on_times_us) {
      const Circuit circuit = circuit_of(profile, loaded).circuit;
      const GateBurst burst{0, on_us};
      const double cycle_us = 1e6 / modes_of(circuit).front().frequency_hz;
      const double peak = simulate(circuit, bridge_v(profile.drive.bridge, *profile.drive.bus_v), {&burst, 1},
                                   on_us + 3 * cycle_us)
                              .bursts[0]
                              .peak_a;
      points.push_back({on_us, peak * std::exp(error(dice)), loaded});
    }
  return points;
}

const std::vector<double> kTimes = {0.6, 1.1, 1.9, 3, 4.5, 6.5, 9, 13, 19, 28, 40};

TEST(Fit, FindsTheValuesThatMadeThePoints) {
  const Profile truth = sample();
  Profile guess = truth;
  *guess.primary.inductance_uh *= 1.06;
  *guess.primary.resistance_ohm *= 0.7;
  *guess.secondary.coupling *= 1.08;
  *guess.secondary.streamer_load_kohm *= 1.4;
  const Fit fit = fit_tank(guess, measured(truth, kTimes, 0, 1));
  ASSERT_EQ(fit.values.size(), 4u);
  EXPECT_GT(fit.scatter_before_percent, 1);
  EXPECT_LT(fit.scatter_percent, 0.1);
  EXPECT_NEAR(*fit.profile.primary.inductance_uh / *truth.primary.inductance_uh, 1, 0.005);
  EXPECT_NEAR(*fit.profile.primary.resistance_ohm / *truth.primary.resistance_ohm, 1, 0.03);
  EXPECT_NEAR(*fit.profile.secondary.coupling / *truth.secondary.coupling, 1, 0.01);
  EXPECT_NEAR(*fit.profile.secondary.streamer_load_kohm / *truth.secondary.streamer_load_kohm, 1, 0.03);
}

// Two standard deviations hold the truth in about 95 of 100 cases.
TEST(Fit, TheStatedUncertaintyIsTrue) {
#ifdef BURSTLOOM_SANITIZED
  constexpr unsigned kSeeds = 25;  // sanitizers cost about ten times
#else
  constexpr unsigned kSeeds = 60;
#endif
  const Profile truth = sample();
  int inside = 0, all = 0;
  for (unsigned seed = 1; seed <= kSeeds; ++seed) {
    const Fit fit =
        fit_tank(truth, measured(truth, kTimes, 0.02, seed), {"primary.inductance_uh", "secondary.coupling"});
    for (const FittedValue& it : fit.values) {
      inside += std::abs(std::log(it.value / it.before)) <= it.uncertain_percent / 100;
      ++all;
    }
    EXPECT_NEAR(fit.scatter_percent, 2, 1.2);
  }
  EXPECT_GE(inside, all * 85 / 100) << inside << " of " << all;
  EXPECT_LE(inside, all - 1) << "an uncertainty that is never wrong is none";
}

// The decay alone tells the resistance, however few the points: 2 L / R.
TEST(Fit, TheDecayTellsTheResistance) {
  const Profile truth = sample();
  const Circuit circuit = circuit_of(truth, false).circuit;
  Profile guess = truth;
  *guess.primary.resistance_ohm *= 1.5;
  const Bench bench{0, 2e6 * circuit.primary_h / circuit.primary_ohm};
  const Fit fit = fit_tank(guess, measured(truth, {0.6, 1.1}, 0, 1), {"primary.resistance_ohm"}, bench);
  EXPECT_NEAR(*fit.profile.primary.resistance_ohm / *truth.primary.resistance_ohm, 1, 0.01);
  EXPECT_LT(fit.values[0].uncertain_percent, 5);
  EXPECT_THROW((void)fit_tank(guess, measured(truth, {0.6, 1.1}, 0, 1), {}, {0, -1.0}), Error);
}

TEST(Fit, RefusesWhatCannotBeTold) {
  const Profile profile = sample();
  const auto refusal = [&](const std::vector<BenchPoint>& points,
                           const std::vector<std::string>& keys) -> std::string {
    try {
      (void)fit_tank(profile, points, keys);
    } catch (const Error& error) {
      return error.what();
    }
    return "fitted";
  };
  EXPECT_NE(refusal(measured(profile, {2, 5}, 0, 1), {}).find("4 points are too few for 4 values"),
            std::string::npos);
  // Unloaded points feel nothing of the load.
  auto unloaded = measured(profile, kTimes, 0, 1);
  std::erase_if(unloaded, [](const BenchPoint& it) { return it.loaded; });
  EXPECT_NE(refusal(unloaded, {"primary.inductance_uh", "secondary.streamer_load_kohm"})
                .find("secondary.streamer_load_kohm at all"),
            std::string::npos);
  // Bursts of one length tell one thing.
  std::vector<BenchPoint> same(6, measured(profile, {5}, 0, 1)[0]);
  EXPECT_NE(refusal(same, {"primary.inductance_uh", "secondary.coupling"}).find("these points cannot tell"),
            std::string::npos);
  EXPECT_NE(refusal(unloaded, {"limits.gap_us"}).find("cannot be fitted"), std::string::npos);
}

class PointFile : public ::testing::Test {
 protected:
  std::string write(const std::string& text) {
    const std::string path = ::testing::TempDir() + "burstloom-points.csv";
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }
  std::string refusal(const std::string& text) {
    try {
      (void)read_bench_points(write(text));
    } catch (const Error& error) {
      return error.where() + ": " + error.problem();
    }
    return "read";
  }
};

TEST_F(PointFile, IsRead) {
  const auto points = read_bench_points(
      write("# taken at 36 V\r\non_time_us, peak_current_a, loaded\r\n10, 18.5, yes\n20,25,no\n\n"));
  ASSERT_EQ(points.size(), 2u);
  EXPECT_EQ(points[0].on_time_us, 10);
  EXPECT_EQ(points[0].peak_current_a, 18.5);
  EXPECT_TRUE(points[0].loaded);
  EXPECT_FALSE(points[1].loaded);
  EXPECT_TRUE(read_bench_points(write("on_time_us,peak_current_a\n10,18\n"))[0].loaded);
}

TEST_F(PointFile, IsRefusedByItsLine) {
  EXPECT_NE(refusal("").find("no point"), std::string::npos);
  EXPECT_NE(refusal("on_time,peak\n1,2\n").find("line 1: the heading"), std::string::npos);
  EXPECT_NE(refusal("on_time_us,peak_current_a\n10\n").find("line 2: this point has 1 fields"),
            std::string::npos);
  for (const char* value : {"-1", "0", "nan", "inf", "1e9", "ten", "", "1 2"})
    EXPECT_NE(refusal("on_time_us,peak_current_a\n10,5\n10," + std::string(value) + "\n").find("line 3"),
              std::string::npos)
        << value;
  EXPECT_NE(refusal("on_time_us,peak_current_a,loaded\n10,5,maybe\n").find("maybe"), std::string::npos);
}

}  // namespace
}  // namespace burstloom
