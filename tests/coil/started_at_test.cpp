// The same coil, warmer.
#include <gtest/gtest.h>

#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/limits_line.hpp"
#include "burstloom/coil/supply.hpp"

namespace burstloom {
namespace {

TEST(StartedAt, OnlyTheTemperaturesAreOthers) {
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"}) {
    SCOPED_TRACE(name);
    const Profile cold = read_profile(std::string(BURSTLOOM_SAMPLES "/coils/") + name + ".toml");
    const Profile warm = started_at(cold, 47.31, 52.5);
    const Profile read = parse_profile(warm.text, "warm.toml");
    for (const Profile& each : {warm, read}) {
      EXPECT_EQ(each.heatsink.start_c, 47.31);
      EXPECT_EQ(each.heatsink.case_start_c, 52.5);
      EXPECT_EQ(each.name, cold.name);
      EXPECT_EQ(each.drive, cold.drive);
      EXPECT_EQ(each.primary, cold.primary);
      EXPECT_EQ(each.secondary, cold.secondary);
      EXPECT_EQ(each.measured, cold.measured);
      EXPECT_EQ(each.switches, cold.switches);
      EXPECT_EQ(each.limits.duty.size(), cold.limits.duty.size());
      for (std::size_t i = 0; i < cold.limits.duty.size(); ++i) {
        EXPECT_EQ(each.limits.duty[i].window_ms, cold.limits.duty[i].window_ms);
        EXPECT_EQ(each.limits.duty[i].percent, cold.limits.duty[i].percent);
      }
      EXPECT_EQ(each.limits.on_time_max_us, cold.limits.on_time_max_us);
      EXPECT_EQ(each.limits.heatsink_c, cold.limits.heatsink_c);
      EXPECT_EQ(each.heatsink.sink_heat_capacity_j_per_k, cold.heatsink.sink_heat_capacity_j_per_k);
      EXPECT_EQ(each.supply.current_limit_a, cold.supply.current_limit_a);
      EXPECT_EQ(each.voices, cold.voices);
    }
  }
}

TEST(SameCoil, IsWhatDiffersInCommentsAndStartOnly) {
  const Profile coil = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  EXPECT_TRUE(is_same_coil(coil, coil));
  EXPECT_TRUE(is_same_coil(coil, started_at(coil, 40, 50)));
  EXPECT_TRUE(is_same_coil(coil, parse_profile("# mine\n" + coil.text, "mine.toml")));
  std::string wider = coil.text;
  wider.replace(wider.find("gap_us = 120.0"), 14, "gap_us = 119.0");
  EXPECT_FALSE(is_same_coil(coil, parse_profile(wider, "wider.toml")));
}

TEST(LimitsLine, SaysWhatIsAskedAboutFirst) {
  Profile coil = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  EXPECT_EQ(
      limits_in_a_line(coil),
      "on-time at most 40 µs, gap at least 120 µs, duty at most 14 % of any 10 ms and 7 % of any 1000 ms, "
      "peak current at most 70 A");
  coil.limits.peak_current_a.reset();
  EXPECT_TRUE(limits_in_a_line(coil).ends_with(", peak current not limited"));
}

TEST(StartedAt, WhereNothingIsOtherTheTextStays) {
  const Profile cold = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  EXPECT_EQ(started_at(cold, 25, 25).text, cold.text);
}

TEST(StartedAt, ACaseThatStartsWarmerCoolsIntoItsSink) {
  const Profile cold = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  const HeatModel model(started_at(cold, 40, 50), kDefaultTickHz);
  Thermal state(model.network());
  EXPECT_NEAR(state.sink_c(), 40, 1e-9);
  EXPECT_NEAR(state.junction_c(), 50, 1e-9);
  state.rest(20);
  EXPECT_NEAR(state.junction_c(), state.sink_c(), 0.1);
}

TEST(BusOfStream, GoesOnFromWhereItWas) {
  const Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  const BurstStream silence{2'000'000, 2'000, {}};  // 1 ms: 2 A into 1000 uF are 2 V
  const FiguresOf none = [](Tick) { return BurstFigures{}; };
  const auto bus = bus_of_stream(silence, profile, none, 0, 30);
  ASSERT_TRUE(bus);
  EXPECT_NEAR(bus->lowest_v, 30, 1e-9);
  EXPECT_NEAR(bus->end_v, 32, 1e-9);
}

}  // namespace
}  // namespace burstloom
