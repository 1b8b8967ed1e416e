// Limits that go with energy: supply, tank current, junction, heatsink. The guard keeps them for any music;
// the judge, with sums of its own, agrees; and what they cost is turned down, not chopped.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "burstloom/check/judge.hpp"
#include "burstloom/coil/current_table.hpp"
#include "burstloom/guard/guard.hpp"
#include "support/random_profiles.hpp"

namespace burstloom {
namespace {

Profile coil(const std::string& name) {
  return read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
}

// One of the bundled coils with the limits drawn anywhere between what binds nothing and what leaves next to
// nothing.
Profile random_coil() {
  Profile profile = coil(*rc::gen::element<std::string>("bench-36v", "half-bridge-325v", "full-bridge-560v"));
  const double ambient_c = profile.heatsink.ambient_c;
  profile.limits.duty = {{1000, testing::between(1, 30)}};
  profile.limits.supply_w = *profile.limits.supply_w * testing::between(0.01, 1);
  profile.limits.tank_capacitor_a_rms = *profile.limits.tank_capacitor_a_rms * testing::between(0.05, 1);
  profile.limits.junction_c = ambient_c + testing::between(0.5, 80);
  profile.limits.heatsink_c = ambient_c + testing::between(0.02, 2);
  profile.heatsink.sink_heat_capacity_j_per_k =
      *profile.heatsink.sink_heat_capacity_j_per_k * testing::between(0.01, 1);
  // A profile starts cooler than its limits, or it is refused.
  const double room = std::min(*profile.limits.heatsink_c, *profile.limits.junction_c) - ambient_c;
  if (*rc::gen::arbitrary<bool>()) profile.heatsink.start_c = ambient_c + testing::between(0, 0.8) * room;
  if (*rc::gen::arbitrary<bool>()) {  // a case that a song before has warmed, no warmer than the sink may get
    const double sink_c = profile.heatsink.start_c.value_or(ambient_c);
    profile.heatsink.case_start_c = sink_c + testing::between(0, 0.95) * (ambient_c + room - sink_c);
  }
  return profile;
}

std::vector<WantedBurst> trains(const Profile& profile, int voices, double seconds) {
  const CommandLimits limits = command_limits(profile);
  std::vector<WantedBurst> wanted;
  for (int voice = 0; voice < voices; ++voice) {
    const double hz = testing::between(60, 900);
    const auto period = static_cast<Tick>(2e6 / hz);
    const auto on = static_cast<Tick>(2 * testing::between(limits.on_time_min_us, limits.on_time_max_us));
    // Each voice plays for some stretches of the song.
    for (int part = *rc::gen::inRange(1, 4); part > 0; --part) {
      const auto from = static_cast<Tick>(testing::between(0, seconds) * 2e6);
      const auto until = std::min(static_cast<Tick>(seconds * 2e6),
                                  from + static_cast<Tick>(testing::between(0.1, seconds) * 2e6));
      for (Tick at = from; at < until; at += period)
        wanted.push_back({.start = at,
                          .on = on,
                          .cap = period / 10,
                          .weight = 100 + static_cast<std::uint32_t>(voice),
                          .note = static_cast<std::uint32_t>(voice),
                          .voice = static_cast<std::uint16_t>(voice)});
    }
  }
  std::stable_sort(wanted.begin(), wanted.end(),
                   [](const WantedBurst& a, const WantedBurst& b) { return a.start < b.start; });
  return wanted;
}

RC_GTEST_PROP(Burdens, AreKeptForAnyMusicAndAnyLimits, ()) {
  const Profile profile = random_coil();
  const double seconds = *rc::gen::element(1.0, 4.0, 15.0);
  const auto wanted = trains(profile, *rc::gen::inRange(1, 5), seconds);
  const Guarded guarded = place(wanted, profile, 2'000'000, static_cast<Tick>(seconds * 2e6));
  const Judgement judgement = judge(guarded.stream, profile);
  for (const LimitResult& limit : judgement.limits)
    if (!limit.held)
      RC_FAIL(limit.limit + ": worst " + std::to_string(limit.worst) + ", allowed " +
              std::to_string(limit.allowed));
  for (const NotJudged& it : judgement.not_judged) RC_ASSERT(it.limit == "switch voltage");
  const Ledger& ledger = guarded.ledger;
  RC_ASSERT(ledger.wanted == ledger[Fate::kept] + ledger[Fate::lengthened] + ledger[Fate::shortened] +
                                 ledger[Fate::shifted] + ledger[Fate::dropped]);
  Causes causes = 0;
  for (const LedgerEntry& entry : ledger.entries) causes |= entry.causes;
  RC_CLASSIFY((causes & bit(Cause::supply)) != 0, "supply");
  RC_CLASSIFY((causes & bit(Cause::tank_current)) != 0, "tank current");
  RC_CLASSIFY((causes & bit(Cause::junction)) != 0, "junction");
  RC_CLASSIFY((causes & bit(Cause::heatsink)) != 0, "heatsink");
}

// A held note at the longest on-time.
std::vector<WantedBurst> held(const Profile& profile, double hz, double from_s, double until_s) {
  std::vector<WantedBurst> wanted;
  const auto on = static_cast<Tick>(std::floor(2 * command_limits(profile).on_time_max_us));
  for (double at = from_s; at < until_s; at += 1 / hz)
    wanted.push_back({.start = nearest_tick(at, 2'000'000), .on = on, .cap = 100, .weight = 100});
  return wanted;
}

struct Levels {
  double lowest = 1e9, highest = 0, steepest = 0;  // on-times in ticks; the largest step between neighbours
};
Levels levels_of(const BurstStream& stream) {
  Levels levels;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const auto on = static_cast<double>(stream.bursts[i].on);
    levels.lowest = std::min(levels.lowest, on);
    levels.highest = std::max(levels.highest, on);
    if (i > 0)
      levels.steepest =
          std::max(levels.steepest, std::abs(on - static_cast<double>(stream.bursts[i - 1].on)));
  }
  return levels;
}

void expect_turned_down(const Profile& profile, const std::vector<WantedBurst>& wanted, Cause cause,
                        const char* name) {
  const Guarded guarded = place(wanted, profile, 2'000'000, 0);
  EXPECT_EQ(judge(guarded.stream, profile).verdict, Verdict::within_limits);
  EXPECT_EQ(guarded.ledger[Fate::dropped], 0) << name;
  EXPECT_GT(guarded.ledger[Fate::shortened], 0) << name;
  EXPECT_NE(guarded.ledger.entries.front().causes & bit(cause), 0u) << name;
  EXPECT_EQ(names_of(bit(cause), profile.limits), name);
  EXPECT_LE(levels_of(guarded.stream).steepest, 8) << name;  // of 79 ticks: no step to be heard
}

TEST(Burdens, SupplyTurnsALongNoteDownAsAWhole) {
  Profile profile = coil("bench-36v");
  profile.limits.duty = {{1000, 100}};
  profile.limits.supply_w = 4;
  expect_turned_down(profile, held(profile, 500, 0, 6), Cause::supply, "supply");
}

TEST(Burdens, TankCurrentTurnsALongNoteDownAsAWhole) {
  Profile profile = coil("bench-36v");
  profile.limits.duty = {{1000, 100}};
  profile.limits.tank_capacitor_a_rms = 2.5;
  expect_turned_down(profile, held(profile, 500, 0, 6), Cause::tank_current, "tank capacitor current");
}

TEST(Burdens, TheHeatsinkTurnsTheWholeSongDown) {
  Profile profile = coil("bench-36v");
  profile.limits.duty = {{1000, 100}};
  profile.limits.supply_w.reset();
  profile.limits.heatsink_c = 25.6;
  expect_turned_down(profile, held(profile, 500, 0, 60), Cause::heatsink, "heatsink");
}

TEST(Burdens, TheJunctionTurnsTheMomentsBeforeDown) {
  Profile profile = coil("half-bridge-325v");
  profile.limits.duty = {{1000, 100}};
  profile.limits.supply_w.reset();
  profile.limits.tank_capacitor_a_rms.reset();
  profile.limits.junction_c = 40;
  // A quiet minute's worth of notes stays as it is; only the loud passage and what leads to it are turned
  // down.
  auto wanted = held(profile, 40, 0, 10);
  const std::size_t quiet = wanted.size();
  for (const WantedBurst& burst : held(profile, 900, 10, 12)) wanted.push_back(burst);
  const Guarded guarded = place(wanted, profile, 2'000'000, 0);
  EXPECT_EQ(judge(guarded.stream, profile).verdict, Verdict::within_limits);
  EXPECT_EQ(guarded.ledger[Fate::dropped], 0);
  std::size_t untouched = 0;
  for (std::size_t i = 0; i < quiet; ++i) untouched += guarded.stream.bursts[i].on == wanted[i].on;
  EXPECT_GT(untouched, quiet * 9 / 10);
  EXPECT_LT(guarded.stream.bursts.back().on, wanted.back().on);
}

TEST(Burdens, WithoutDataBindNothingAndAreNamed) {
  Profile profile = coil("bench-36v");
  profile.limits.duty = {{1000, 100}};
  profile.limits.supply_w = 0.1;
  profile.limits.heatsink_c = 25.1;
  profile.primary.inductance_uh.reset();  // no model, no energy
  const auto wanted = held(profile, 500, 0, 2);
  const Guarded guarded = place(wanted, profile, 2'000'000, 0);
  EXPECT_EQ(guarded.ledger[Fate::kept], static_cast<std::int64_t>(wanted.size()));
  std::string named;
  for (const NotJudged& it : judge(guarded.stream, profile).not_judged)
    named += it.limit + ": " + it.why + "\n";
  for (const char* limit : {"supply", "heatsink", "junction", "tank capacitor current"})
    EXPECT_NE(named.find(limit), std::string::npos) << named;
  EXPECT_NE(named.find("primary.inductance_uh"), std::string::npos) << named;
}

}  // namespace
}  // namespace burstloom
