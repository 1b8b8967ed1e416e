// The model of the primary current against closed forms, and its table against whole simulations.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "burstloom/coil/circuit.hpp"
#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/waveform.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

// references.md 4.1: L 20 uH, C 150 nF, R 0.2 ohm, driven by 100 V.
Circuit one_tank() {
  Circuit circuit;
  circuit.primary_h = 20e-6;
  circuit.primary_f = 150e-9;
  circuit.primary_ohm = 0.2;
  return circuit;
}

Waveform burst_of(const Circuit& circuit, double on_us, double drive_v = 100, double every_us = -1) {
  const GateBurst burst{0, on_us};
  return simulate(circuit, drive_v, {&burst, 1}, on_us, every_us);
}

TEST(OneTank, RingsAsTheClosedFormSays) {
  const auto modes = modes_of(one_tank());
  ASSERT_EQ(modes.size(), 1u);
  EXPECT_NEAR(modes[0].frequency_hz / 91884.703, 1, 1e-6);  // computed: sqrt(w0^2 - a^2) / 2 pi
  EXPECT_NEAR(modes[0].decay_s / 200e-6, 1, 1e-9);          // 2 L / R
}

// i(t) = V / (wd L) exp(-a t) sin(wd t): the first peak of 8.5439 A at 2.7058 us.
TEST(OneTank, StepResponse) {
  const Waveform wave = burst_of(one_tank(), 5.4, 100, 0);
  const double wd = 2 * std::numbers::pi * 91884.703;
  for (const WaveformRow& row : wave.rows) {
    const double t = row.time_us * 1e-6;
    EXPECT_NEAR(row.primary_a, 100 / (wd * 20e-6) * std::exp(-5000 * t) * std::sin(wd * t), 1e-5)
        << row.time_us;
  }
  EXPECT_NEAR(wave.bursts[0].peak_a / 8.5439, 1, 1e-4);  // four figures published
}

// references.md 4.1: cycle peaks 8.54, 41.81, 73.31, 103.15 and, at 100 us, 230.22 A, by a simulation in
// steps of 1 ns.
TEST(OneTank, CyclePeaksOfTheSquareDrive) {
  const double period_us = 1e6 / 91888.149;
  EXPECT_NEAR(burst_of(one_tank(), 0.3 * period_us).bursts[0].peak_a / 8.54, 1, 0.01);
  EXPECT_NEAR(burst_of(one_tank(), 1.3 * period_us).bursts[0].peak_a / 41.81, 1, 0.01);
  EXPECT_NEAR(burst_of(one_tank(), 2.3 * period_us).bursts[0].peak_a / 73.31, 1, 0.01);
  EXPECT_NEAR(burst_of(one_tank(), 3.3 * period_us).bursts[0].peak_a / 103.15, 1, 0.01);
  EXPECT_NEAR(burst_of(one_tank(), 9 * period_us).bursts[0].peak_a / 250.49, 1, 0.09);
}

// coil-notes.md: without solving, u' = V + D (V + u), D = exp(-a Th), peaks (V + u) exp(-a tp) sin(wd tp) /
// (wd L), where tp is the time to the peak of a half cycle. Exact for one tank that switches at its zeros.
TEST(OneTank, HalfCyclesFollowTheRecursion) {
  const Circuit circuit = one_tank();
  const double a = circuit.primary_ohm / 2 / circuit.primary_h;
  const double wd = std::sqrt(1 / (circuit.primary_h * circuit.primary_f) - a * a);
  const double half_s = std::numbers::pi / wd, peak_s = std::atan(wd / a) / wd;
  double u = 0;
  for (int n = 1; n <= 40; ++n) {
    const double peak_a =
        (100 + u) / (wd * circuit.primary_h) * std::exp(-a * peak_s) * std::sin(wd * peak_s);
    EXPECT_NEAR(burst_of(circuit, n * half_s * 1e6 - 0.01).bursts[0].peak_a / peak_a, 1, 1e-6) << n;
    u = 100 + std::exp(-a * half_s) * (100 + u);
  }
}

// Energy: what the bus gave is what the resistance took and what the tank holds. (Exact for any switching.)
TEST(OneTank, EnergyIsConserved) {
  for (const double on_us : {3.0, 17.0, 55.5, 200.0}) {
    const Waveform wave = burst_of(one_tank(), on_us, 100, 0);
    const BurstRun& run = wave.bursts[0];
    const WaveformRow& end = wave.rows.back();
    const double held = 10e-6 * end.primary_a * end.primary_a + 75e-9 * end.tank_v * end.tank_v;
    EXPECT_NEAR((run.energy_j) / (0.2 * run.burst_i2t_a2s + held), 1, 1e-5) << on_us;
  }
}

// Two lossless tanks tuned alike ring at f0 / sqrt(1 + k) and f0 / sqrt(1 - k).
TEST(TwoTanks, TunedAlikeHaveTheTwoModesOfTheTextbooks) {
  for (const auto& [k, low, high] :
       {std::tuple(0.1, 0.953463, 1.054093), {0.15, 0.932505, 1.084652}, {0.2, 0.912871, 1.118034}}) {
    Circuit circuit = one_tank();
    circuit.primary_ohm = 1e-9;
    circuit.coupling = k;
    circuit.secondary_h = 20e-3;
    circuit.secondary_f = 150e-12;
    circuit.secondary_ohm = 1e-6;
    const auto modes = modes_of(circuit);
    ASSERT_EQ(modes.size(), 2u);
    EXPECT_NEAR(modes[0].frequency_hz / 91888.149 / low, 1, 2e-6);
    EXPECT_NEAR(modes[1].frequency_hz / 91888.149 / high, 1, 2e-6);
  }
}

TEST(Scaling, PeakGoesWithTheDriveEnergyWithItsSquare) {
  const Circuit circuit = circuit_of(parse_profile(kSample, "c"), true).circuit;
  const BurstRun one = burst_of(circuit, 20, 10).bursts[0], three = burst_of(circuit, 20, 30).bursts[0];
  EXPECT_NEAR(three.peak_a / one.peak_a, 3, 1e-9);
  EXPECT_NEAR(three.energy_j / one.energy_j, 9, 1e-9);
  EXPECT_NEAR(three.burst_i2t_a2s / one.burst_i2t_a2s, 9, 1e-9);
}

std::vector<std::string> bundled() {
  std::vector<std::string> paths;
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v"})
    paths.push_back(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
  return paths;
}

Profile without_points(const std::string& path) {
  Profile profile = read_profile(path);
  profile.measured.reset();
  return profile;
}

// The table is for limits: never under what a single burst does, and close to it where rows are close.
TEST(Table, IsASafeAndCloseBoundOfSingleBursts) {
  for (const std::string& path : bundled()) {
    const Profile profile = without_points(path);
    const CurrentTable table(profile);
    ASSERT_TRUE(table.has_model()) << table.why_no_model();
    const double drive_v = bridge_v(profile.drive.bridge,
                                    *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100));
    for (const bool loaded : {false, true}) {
      const Circuit circuit = circuit_of(profile, loaded).circuit;
      for (double on_us = profile.limits.on_time_min_us; on_us <= profile.limits.on_time_max_us;
           on_us *= 1.07) {
        const GateBurst burst{0, on_us};
        const BurstRun run = simulate(circuit, drive_v, {&burst, 1}, on_us + 2000).bursts[0];
        const auto peak_a = table.peak_current_a(on_us);
        ASSERT_TRUE(peak_a.has_value());
        EXPECT_LE(run.peak_a, *peak_a * (1 + 1e-9)) << path << " at " << on_us;
        const BurstFigures figures = table.figures(on_us);
        EXPECT_LE(run.energy_j - run.returned_j, figures.energy_j * 1.03) << path << " at " << on_us;
        EXPECT_LE(run.burst_i2t_a2s, figures.i2t_a2s * 1.03) << path << " at " << on_us;
      }
    }
  }
}

// Residual: bursts of any length after any gap the profile allows, one after another, everything carried. No
// peak passes the table's. The worst comes near it: the bound is no empty one.
TEST(Table, BoundsTrainsOfBurstsWithEverythingCarried) {
  std::mt19937 dice(20261125);
  const auto between = [&](double low, double high) {
    return low + (high - low) * static_cast<double>(dice() % 10'001) / 1e4;
  };
  for (const std::string& path : bundled()) {
    const Profile profile = without_points(path);
    const CurrentTable table(profile);
    const double drive_v = bridge_v(profile.drive.bridge,
                                    *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100));
    double nearest = 0;
    for (const bool loaded : {false, true}) {
      const Circuit circuit = circuit_of(profile, loaded).circuit;
      for (int train = 0; train < 150; ++train) {
        std::vector<GateBurst> bursts;
        double at_us = 0;
        for (int n = 0; n < 10; ++n) {
          bursts.push_back({at_us, between(profile.limits.on_time_min_us, profile.limits.on_time_max_us)});
          at_us += bursts.back().on_us + profile.limits.gap_us * between(1, 1 + train % 3);
        }
        const Waveform wave = simulate(circuit, drive_v, bursts, at_us);
        for (std::size_t n = 0; n < bursts.size(); ++n) {
          const double bound_a = *table.peak_current_a(bursts[n].on_us);
          ASSERT_LE(wave.bursts[n].peak_a, bound_a * (1 + 1e-6))
              << path << ", burst of " << bursts[n].on_us << " us";
          nearest = std::max(nearest, wave.bursts[n].peak_a / bound_a);
        }
      }
    }
    std::printf("%s: the worst of 3 000 bursts in trains reaches %.3f of the table's bound\n",
                profile.name.c_str(), nearest);
    EXPECT_GT(nearest, 0.8) << path;
  }
}

TEST(Table, LimitsUseTheWorseStateSoLoadedPointsDoNotOverruleAnUnloadedModel) {
  Profile profile = read_profile(bundled()[0]);  // unloaded its current is twice as high
  const CurrentTable with_points(profile);
  ASSERT_TRUE(profile.measured->loaded);
  profile.measured.reset();
  const CurrentTable model(profile);
  const double unloaded_a = *model.peak_current_a(40);
  EXPECT_EQ(*with_points.peak_current_a(40), unloaded_a);
  // Points higher than any model count.
  profile.measured = MeasuredCurrent{36, true, {10, 20, 50}, {1000, 1000, 1000}};
  EXPECT_GE(*CurrentTable(profile).peak_current_a(20), 1050 - 1e-9);  // the bus may be 5 % higher
  // Low ones in the other state do not.
  profile.measured = MeasuredCurrent{36, false, {10, 20, 50}, {1, 1, 1}};
  const double loaded_a = model.rows(true).back().figures.peak_current_a;
  EXPECT_GE(*CurrentTable(profile).peak_current_a(40), loaded_a * 0.98);
  EXPECT_LT(*CurrentTable(profile).peak_current_a(40), unloaded_a * 0.7);
}

TEST(Table, ComparesPointsWithTheModel) {
  for (const std::string& path : bundled()) {
    const CurrentTable table(read_profile(path));
    const auto beside = table.points_beside_model();
    EXPECT_GE(beside.size(), 5u) << path;
    // The points were computed by a program of its own in another language.
    for (const PointBesideModel& point : beside)
      EXPECT_LT(std::abs(point.off_percent()), 7) << path << " at " << point.on_time_us;
  }
}

TEST(Table, NamesWhatTheModelLacks) {
  Profile profile = parse_profile(kSample, "c");
  profile.primary.capacitance_nf.reset();
  profile.secondary.coupling.reset();
  const CurrentTable table(profile);
  EXPECT_FALSE(table.has_model());
  EXPECT_NE(table.why_no_model().find("primary.capacitance_nf"), std::string::npos) << table.why_no_model();
  EXPECT_TRUE(table.knows_peak());  // by its points
  profile.measured.reset();
  EXPECT_FALSE(CurrentTable(profile).knows_peak());
}

TEST(Table, IsKeptUntilTheProfileChanges) {
  Profile profile = parse_profile(kSample, "c");
  const auto first = current_table(profile);
  EXPECT_EQ(current_table(profile), first);
  profile.primary.resistance_ohm = 0.31;
  EXPECT_NE(current_table(profile), first);
}

TEST(Table, IsKeptForFourCoilsThatTakeTurns) {
  std::vector<Profile> coils(4, parse_profile(kSample, "c"));
  std::vector<std::shared_ptr<const CurrentTable>> first;
  for (Profile& profile : coils) {
    profile.limits.gap_us += 10 * static_cast<double>(first.size());
    first.push_back(current_table(profile));
  }
  for (std::size_t i = 0; i < coils.size(); ++i) EXPECT_EQ(current_table(coils[i]), first[i]);
}

}  // namespace
}  // namespace burstloom
