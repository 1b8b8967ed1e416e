// What `coil show` tells before any music.
#include "burstloom/coil/outlook.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

Profile sample() {
  return parse_profile(kSample, "c");
}
Profile bundled(const std::string& name) {
  return read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
}

// references.md 4.1: L 20 uH, C 150 nF, R 0.2 ohm.
TEST(Outlook, TankInClosedForm) {
  Profile profile = sample();
  profile.primary = {20, 150, 0.2};
  profile.switches.rds_on_mohm = 1e-9;
  const Tank tank = outlook(profile).primary.value();
  EXPECT_NEAR(tank.resonance_hz / 91888.149, 1, 1e-6);
  EXPECT_NEAR(tank.impedance_ohm / 11.54701, 1, 1e-6);
  EXPECT_NEAR(tank.quality / 57.735, 1, 1e-5);
  EXPECT_NEAR(tank.ring_up_s / 200e-6, 1, 1e-6);
}

TEST(Outlook, PolesLieOnBothSidesAndStreamersDampThem) {
  const Outlook seen = outlook(bundled("half-bridge-325v"));
  ASSERT_EQ(seen.modes.size(), 2u);
  EXPECT_LT(seen.modes[0].frequency_hz, 139e3);
  EXPECT_GT(seen.modes[1].frequency_hz, 143.9e3);
  for (std::size_t i = 0; i < 2; ++i) EXPECT_LT(seen.modes_loaded[i].decay_s, seen.modes[i].decay_s);
}

// coil-notes.md 12: tuning dominates; 5 % of the coupling moves the peak by some per cent, of the tuning by
// much more.
TEST(Outlook, TuningMattersMost) {
  const Outlook seen = outlook(bundled("bench-36v"));
  ASSERT_EQ(seen.sensitivities.size(), 8u);
  double tuning = 0, coupling = 0;
  for (const Sensitivity& it : seen.sensitivities)
    (it.value.find("coupling") == std::string::npos ? tuning : coupling) = std::max(
        it.value.find("coupling") == std::string::npos ? tuning : coupling, std::abs(it.change_percent));
  EXPECT_GT(tuning, 5);
  EXPECT_GT(tuning, coupling);
  EXPECT_GE(*seen.detuned_peak_a, burst_outlook(bundled("bench-36v"), {39.7})[1].peak_current_a * 0.98);
}

TEST(Outlook, PointsFarFromTheModelAreAWarningWithCauses) {
  Profile profile = bundled("bench-36v");
  EXPECT_TRUE(outlook(profile).warnings.empty());
  for (double& ampere : profile.measured->peak_current_a) ampere *= 1.3;
  const Outlook seen = outlook(profile);
  ASSERT_GE(seen.warnings.size(), profile.measured->on_time_us.size() - 1);
  EXPECT_NE(seen.warnings[0].find("probe's scale"), std::string::npos);
  for (double& ampere : profile.measured->peak_current_a) ampere *= 1.1 / 1.3;
  EXPECT_TRUE(outlook(profile).warnings.empty());
}

// A note that never ends keeps every limit in the steady state, and one a tenth longer does not keep the one
// named.
TEST(Outlook, SteadyNotesAreAtTheirLimit) {
  Profile profile = bundled("half-bridge-325v");
  profile.limits.junction_c = 32;
  profile.limits.duty = {{1000, 50}};
  const auto table = current_table(profile);
  const HeatModel model(profile, kDefaultTickHz);
  const auto junction_c = [&](double on_us, double rate_hz) {
    const auto figures = table->figures(on_us);
    return steady_heat(model.network(), model.power(static_cast<Tick>(on_us * 2), figures), on_us * 1e-6,
                       1 / rate_hz)
        .junction_c;
  };
  int bound = 0;
  for (const SteadyNote& note : outlook(profile).steady) {
    if (note.bound_by != "junction") continue;
    ++bound;
    EXPECT_LE(junction_c(note.on_time_us, note.rate_hz), 32 + 0.3) << note.rate_hz;
    EXPECT_GT(junction_c(note.on_time_us * 1.1, note.rate_hz), 32) << note.rate_hz;
    EXPECT_NEAR(note.duty_percent, note.on_time_us * note.rate_hz / 1e4, 1e-9);
  }
  EXPECT_GE(bound, 2);
}

TEST(Outlook, WithoutAModelSaysWhatIsMissing) {
  Profile profile = sample();
  profile.primary.resistance_ohm.reset();
  const Outlook seen = outlook(profile);
  EXPECT_NE(seen.why_no_model.find("primary.resistance_ohm"), std::string::npos);
  EXPECT_FALSE(seen.steady.empty());
  EXPECT_THROW((void)burst_outlook(profile, {10}), Error);
  for (const double on_us : {0.0, -1.0, 2e6, std::nan("")})
    EXPECT_THROW((void)burst_outlook(sample(), {on_us}), Error);
}

// Untuned primary: the driver runs at f2 / sqrt(1 - k^2) (coil-notes.md 9), the frequency of the only pole.
TEST(Outlook, AnUntunedPrimaryRunsAboveItsSecondary) {
  const Profile profile = bundled("continuous-36v");
  const Outlook seen = outlook(profile);
  ASSERT_EQ(seen.modes.size(), 1u);
  const double k = *profile.secondary.coupling;
  EXPECT_NEAR(seen.modes[0].frequency_hz / (*profile.secondary.resonance_khz * 1e3 / std::sqrt(1 - k * k)), 1,
              0.001);
}

// Current-fed push-pull: a switch sees about 2 pi times the feed voltage in the start's overshoot
// (coil-notes.md 10).
TEST(Outlook, ACurrentFedSwitchSeesTheOvershoot) {
  Profile profile = sample();
  profile.drive.primary = PrimaryKind::current_fed;
  profile.drive.bridge = Bridge::push_pull;
  profile.drive.feed_inductance_uh = 200;
  profile.drive.bus_tolerance_percent = 0;
  profile.secondary = {};
  profile.primary = {4, 100, 0.02};
  profile.measured.reset();
  profile.limits.on_time_max_us = 400;
  const CurrentTable table(profile);
  ASSERT_TRUE(table.has_model()) << table.why_no_model();
  EXPECT_NEAR(table.rows(false).back().figures.switch_v / (2 * M_PI * 36), 1, 0.15);
}

}  // namespace
}  // namespace burstloom
