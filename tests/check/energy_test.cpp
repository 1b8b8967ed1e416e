// The judge's sums of energy and heat: against the guard's model, which is another code, and against the song
// really played again and again.
#include <cmath>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/supply.hpp"
#include "support.hpp"

namespace burstloom {
namespace {

using testing::result_of;
using testing::stream_of;

Profile coil(const std::string& name) {
  Profile profile = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
  profile.limits.duty = {{1000, 100}};
  profile.limits.break_rate_hz.reset();
  return profile;
}

BurstStream train(Tick on, Tick period, std::size_t bursts, Tick silence = 0) {
  std::vector<Burst> all;
  for (std::size_t i = 0; i < bursts; ++i) all.push_back({static_cast<Tick>(i) * period, on});
  return stream_of(all, static_cast<Tick>(bursts) * period + silence);
}

// The stream as the gate sees it: each burst longer by the stretch.
BurstStream at_gate(BurstStream stream, const Profile& profile) {
  const auto stretch = static_cast<Tick>(std::ceil(profile.drive.pulse_stretch_ns * 2 / 1000));
  for (Burst& burst : stream.bursts) burst.on += stretch;
  return stream;
}

FiguresOf figures_of(const Profile& profile) {
  return [table = current_table(profile), us = 0.5 * (1 + profile.drive.clock_tolerance_percent / 100)](
             Tick on) { return table->figures(static_cast<double>(on) * us); };
}

class EnergyOf : public ::testing::TestWithParam<const char*> {};

TEST_P(EnergyOf, HeatAgreesWithTheGuardsModel) {
  const Profile profile = coil(GetParam());
  const HeatModel model(profile, 2'000'000);
  for (const Tick on : {20, 40, 70})
    for (const std::size_t bursts : {1u, 300u, 20'000u}) {
      const BurstStream stream = train(on, 4000, bursts, 4'000'000);
      const HeatOfStream guards =
          heat_of_stream(model, at_gate(stream, profile), figures_of(profile), Thermal(model.network()));
      const Judgement judgement = judge(stream, profile);
      const double ambient = profile.heatsink.ambient_c;
      const double junction_k = result_of(judgement, "junction").worst - ambient,
                   sink_k = result_of(judgement, "heatsink").worst - ambient;
      // The guard rounds the stretch up to a tick and takes resistances a little hotter: never less, and
      // near.
      EXPECT_LE(junction_k, guards.junction_c - ambient + 1e-6) << on << " x " << bursts;
      EXPECT_LE(sink_k, guards.sink_c - ambient + 1e-6) << on << " x " << bursts;
      EXPECT_GT(junction_k, 0.8 * (guards.junction_c - ambient)) << on << " x " << bursts;
      EXPECT_GT(sink_k, 0.8 * (guards.sink_c - ambient)) << on << " x " << bursts;
    }
}

TEST_P(EnergyOf, SupplyAgreesWithTheEnergyOfASecond) {
  const Profile profile = coil(GetParam());
  // 500 Hz for four seconds: 500 bursts in any second, half a one more at most.
  const Judgement judgement = judge(train(40, 4000, 2000), profile);
  const double us =
      20 * (1 + profile.drive.clock_tolerance_percent / 100) + profile.drive.pulse_stretch_ns / 1000;
  const BurstFigures one = current_table(profile)->figures(us);
  const double worst_w = result_of(judgement, "supply").worst;
  EXPECT_GE(worst_w, 500 * one.energy_j);
  EXPECT_LE(worst_w, 504 * one.energy_j);  // a fast clock squeezes half a percent more into a second
  if (profile.limits.tank_capacitor_a_rms) {
    const double amperes = result_of(judgement, "tank capacitor current").worst;
    const double squares = one.i2t_a2s + one.i2t_ring_down_a2s;
    EXPECT_NEAR(amperes, std::sqrt(502 * squares), 0.01 * amperes);
    EXPECT_NEAR(result_of(judgement, "tank capacitor voltage").worst, one.tank_capacitor_v, 1e-6);
  }
}

INSTANTIATE_TEST_SUITE_P(Coils, EnergyOf,
                         ::testing::Values("bench-36v", "half-bridge-325v", "full-bridge-560v",
                                           "continuous-36v"),
                         [](const auto& tested) {
                           std::string name = tested.param;
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

TEST(Energy, MarginsOfTemperaturesAreOfTheRiseAboveAmbient) {
  Profile profile = coil("half-bridge-325v");
  const Judgement judgement = judge(train(80, 2400, 3000), profile);
  const LimitResult& junction = result_of(judgement, "junction");
  EXPECT_NEAR(junction.margin_percent, 100 * (junction.allowed - junction.worst) / (junction.allowed - 25),
              1e-9);
}

TEST(Energy, EveryLimitHoldsAtTheWorstAndNotAHairBelow) {
  const Profile profile = coil("half-bridge-325v");
  const BurstStream stream = train(80, 2400, 3000);
  const Judgement judgement = judge(stream, profile);
  const std::pair<const char*, std::optional<double> Limits::*> limits[] = {
      {"tank capacitor voltage", &Limits::tank_capacitor_v},
      {"tank capacitor current", &Limits::tank_capacitor_a_rms},
      {"supply", &Limits::supply_w},
      {"junction", &Limits::junction_c},
      {"heatsink", &Limits::heatsink_c}};
  for (const auto& [name, limit] : limits) {
    const double worst = result_of(judgement, name).worst;
    Profile close = profile;
    close.limits.*limit = worst;
    EXPECT_TRUE(result_of(judge(stream, close), name).held) << name;
    close.limits.*limit = worst * (1 - 1e-7);
    EXPECT_FALSE(result_of(judge(stream, close), name).held) << name;
    // Of temperatures the rise counts, of all else the whole.
    const bool is_temperature = limit == &Limits::junction_c || limit == &Limits::heatsink_c;
    const double from = is_temperature ? profile.heatsink.ambient_c : 0, allowed = 2 * worst;
    close.limits.*limit = allowed;
    EXPECT_NEAR(result_of(judge(stream, close), name).margin_percent,
                100 * (allowed - worst) / (allowed - from), 1e-9)
        << name;
  }
}

TEST(Energy, ViolationsNameTheLimitAndThePlace) {
  Profile profile = coil("half-bridge-325v");
  profile.limits.junction_c = 27;
  profile.limits.supply_w = 10;
  const Judgement judgement = judge(train(80, 2400, 3000), profile);
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_FALSE(result_of(judgement, "junction").held);
  EXPECT_LT(result_of(judgement, "junction").margin_percent, 0);
  EXPECT_FALSE(result_of(judgement, "supply").held);
  EXPECT_EQ(judgement.violations_in_all, 2);
}

TEST(Energy, RunawayIsNamed) {
  Profile profile = coil("bench-36v");
  profile.heatsink.sink_to_ambient_k_per_w = 4000;
  profile.heatsink.sink_heat_capacity_j_per_k = profile.heatsink.case_heat_capacity_j_per_k.emplace(0.001);
  const Judgement judgement = judge(train(79, 1500, 20'000), profile);
  EXPECT_EQ(judgement.verdict, Verdict::outside_limits);
  EXPECT_TRUE(std::isfinite(result_of(judgement, "junction").worst));
  EXPECT_TRUE(std::any_of(judgement.remarks.begin(), judgement.remarks.end(), [](const std::string& remark) {
    return remark.find("runaway") != std::string::npos;
  }));
}

// Promise 8. A song that heats the sink: with the rest that is told it may be played forty times over; with
// three quarters of it, not.
TEST(Energy, TheRestBeforeARepeatKeepsTheSinkForEver) {
  Profile profile = coil("half-bridge-325v");
  profile.heatsink.sink_heat_capacity_j_per_k = 20;
  const BurstStream song = train(100, 2400, 8000);
  const double hottest_c = result_of(judge(song, profile), "heatsink").worst;
  profile.limits.heatsink_c = 25 + 1.5 * (hottest_c - 25);
  const Judgement judgement = judge(song, profile);
  ASSERT_EQ(judgement.verdict, Verdict::within_limits);
  const double rest_s = judgement.rest_before_repeat_s.value();
  EXPECT_GT(rest_s, 1);
  const auto played = [&](double silence_s) {
    BurstStream many{song.tick_hz, 0, {}};
    for (int i = 0; i < 40; ++i) {
      for (const Burst& burst : song.bursts) many.bursts.push_back({burst.start + many.length, burst.on});
      many.length += song.length + nearest_tick(silence_s, song.tick_hz);
    }
    return judge(many, profile).verdict;
  };
  EXPECT_EQ(played(rest_s), Verdict::within_limits);
  EXPECT_EQ(played(0.75 * rest_s), Verdict::outside_limits);
}

TEST(Energy, ACoolSongMayLoop) {
  EXPECT_EQ(judge(train(40, 4000, 2000), coil("bench-36v")).rest_before_repeat_s, 0.0);
}

}  // namespace
}  // namespace burstloom
