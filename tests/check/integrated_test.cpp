// Loss and heat of guard and judge, each held to one continuous integration that shares no code with either.
// What the formulas are, and where they come from, says docs/reference/coil-model.md.
#include <cmath>
#include <functional>
#include <map>

#include "../../src/check/judge/switch_losses.hpp"
#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "support.hpp"
#include "support/integrated_coil.hpp"

namespace burstloom {
namespace {

using testing::IntegratedBurst;
using testing::IntegratedNetwork;
using testing::IntegratedPosition;
using testing::IntegratedTank;
using testing::result_of;
using testing::TankIntegrator;

/// Fixed and resistive loss (J) of the hottest switch and of the mean one.
struct Losses {
  double hottest_fixed_j = 0, hottest_resistive_j = 0, mean_fixed_j = 0, mean_resistive_j = 0;
};
Losses by_guard(const Profile& profile, const BurstFigures& figures) {
  const BurstLoss loss = burst_loss(profile, figures);
  return {loss.hottest.fixed_j, loss.hottest.resistive_j, loss.mean_on_sink.fixed_j,
          loss.mean_on_sink.resistive_j};
}
Losses by_judge(const Profile& profile, const BurstFigures& figures) {
  const judge_detail::SwitchLosses loss = judge_detail::switch_losses(profile, figures);
  return {loss.hottest.fixed_j, loss.hottest.resistive_j, loss.mean_on_sink.fixed_j,
          loss.mean_on_sink.resistive_j};
}
struct Side {
  const char* name;
  Losses (*losses)(const Profile&, const BurstFigures&);
};
constexpr Side kSides[] = {{"guard", by_guard}, {"judge", by_judge}};

/// A primary alone: what it is driven with is the bus or half of it.
struct Bench {
  double khz, ohm, on_us;
  int parallel;
  bool stops_at_zero;
};
constexpr Bench kBenches[] = {{1200, 0.4, 12, 1, false}, {1200, 0.4, 3.1, 2, true},
                              {144, 0.15, 90, 1, true},  {144, 0.15, 90.7, 3, false},
                              {79, 0.08, 200, 2, true},  {400, 1.5, 40, 1, false}};

Profile profile_of(const Bench& bench, SwitchKind kind) {
  Profile p;
  p.name = "integrated";
  p.drive.bus_v = 300;
  p.drive.bus_tolerance_percent = 5;
  p.drive.clock_tolerance_percent = 0;
  p.drive.commutation_delay_ns = 40;
  p.drive.stops_at_zero = bench.stops_at_zero;
  p.primary.inductance_uh = 8;
  p.primary.capacitance_nf = 1e9 / (8e-6 * std::pow(2 * M_PI * bench.khz * 1e3, 2));
  p.primary.resistance_ohm = bench.ohm;
  p.limits.on_time_min_us = 1;
  p.limits.on_time_max_us = 220;
  p.limits.gap_us = 500;
  p.limits.duty = {{1000, 100}};
  p.limits.junction_c = p.limits.heatsink_c = 250;
  p.switches.kind = kind;
  p.switches.parallel = bench.parallel;
  p.switches.on_one_sink = 2 * bench.parallel;
  if (kind == SwitchKind::mosfet) {
    p.switches.rds_on_mohm = 45;
    p.switches.rds_on_factor_at_150c = 1;
    p.switches.rise_ns = 35;
    p.switches.fall_ns = 25;
  } else {
    p.switches.vce_sat_v = 1.6;
    p.switches.vce_slope_mohm = 12;
    p.switches.switching_uj = 210;
  }
  p.switches.foster = {{0.25, 0.0004}, {0.4, 0.011}};
  p.heatsink = {1.5, 0.6, 4.0, 30.0, 25.0, 25.0, {}};
  return p;
}

IntegratedTank tank_of(const Profile& p) {
  const double switch_ohm =
      p.switches.rds_on_mohm.value_or(p.switches.vce_slope_mohm.value_or(0)) / 1e3 / p.switches.parallel;
  return {.henry = *p.primary.inductance_uh * 1e-6,
          .farad = *p.primary.capacitance_nf * 1e-9,
          .ohm = *p.primary.resistance_ohm + switch_ohm,
          .drive_v = *p.drive.bus_v * (1 + p.drive.bus_tolerance_percent / 100) / 2,
          .delay_s = p.drive.commutation_delay_ns * 1e-9,
          .stops_at_zero = p.drive.stops_at_zero};
}

BurstFigures figures_of(const IntegratedBurst& burst) {
  std::vector<double> commutated_a = burst.position[0].switched_off_a;
  commutated_a.insert(commutated_a.end(), burst.position[1].switched_off_a.begin(),
                      burst.position[1].switched_off_a.end());
  double sum = -burst.at_end_a;  // the burst's end is no commutation
  for (const double a : commutated_a) sum += a;
  BurstFigures f;
  f.on_time_us = burst.driven_s * 1e6;
  f.peak_current_a = burst.peak_a;
  f.energy_j = burst.drawn_j - burst.returned_j;
  f.i2t_a2s = burst.both(&IntegratedPosition::i2t);
  f.charge_c = burst.both(&IntegratedPosition::charge);
  f.i2t_ring_down_a2s = burst.both(&IntegratedPosition::diode_i2t);
  f.charge_ring_down_c = burst.both(&IntegratedPosition::diode_charge);
  f.half_cycles = static_cast<double>(commutated_a.size() - 1);
  f.commutation_current_a = f.half_cycles > 0 ? sum / f.half_cycles : 0;
  return f;
}

// What a switch loses while its current ramps and the whole bus is across it, in slices.
double ramp_j(double volts, double amperes, double seconds) {
  double sum = 0;
  for (int i = 0; i < 100; ++i) sum += volts * amperes * (i + 0.5) / 100 * seconds / 100;
  return sum;
}

// What one of a position's switches loses, moment by moment.
Losses lost(const Profile& p, const IntegratedPosition& it) {
  const Switch& s = p.switches;
  const double n = s.parallel, volts = *p.drive.bus_v * (1 + p.drive.bus_tolerance_percent / 100);
  constexpr double kDiode_v = 1.5;
  if (s.kind == SwitchKind::igbt) {
    const double slope_ohm = *s.vce_slope_mohm / 1e3 / n;
    const double drops_j = *s.vce_sat_v * it.charge + slope_ohm * it.i2t +
                           std::max(kDiode_v, *s.vce_sat_v) * it.diode_charge + slope_ohm * it.diode_i2t;
    const auto pairs = static_cast<double>(it.switched_on_a.size());
    return {drops_j / n + pairs * *s.switching_uj * 1e-6, 0};
  }
  double switching_j = 0;
  for (const double a : it.switched_on_a) switching_j += ramp_j(volts, a, *s.rise_ns * 1e-9);
  for (const double a : it.switched_off_a) switching_j += ramp_j(volts, a, *s.fall_ns * 1e-9);
  return {(switching_j + kDiode_v * it.diode_charge) / n, *s.rds_on_mohm / 1e3 / n / n * it.i2t};
}

class Integrated : public ::testing::TestWithParam<Bench> {};

// The mean of both positions is no estimate: it is what the integration finds, but for the burst's last off
// (on and off of an IGBT), which both sides count in either position.
TEST_P(Integrated, MeanLossIsWhatTheSwitchesLose) {
  for (const SwitchKind kind : {SwitchKind::mosfet, SwitchKind::igbt}) {
    const Profile p = profile_of(GetParam(), kind);
    const IntegratedBurst burst = TankIntegrator(tank_of(p)).burst(GetParam().on_us * 1e-6);
    const Losses one = lost(p, burst.position[0]), other = lost(p, burst.position[1]);
    const double volts = *p.drive.bus_v * (1 + p.drive.bus_tolerance_percent / 100);
    const double end_j =
        GetParam().stops_at_zero ? 0 : ramp_j(volts, burst.at_end_a, p.switches.fall_ns.value_or(0) * 1e-9);
    const double last_off_j =
        GetParam().stops_at_zero ? 0 : ramp_j(volts, burst.peak_a, p.switches.fall_ns.value_or(0) * 1e-9);
    const double counted_more_j = kind == SwitchKind::igbt ? *p.switches.switching_uj * 1e-6 / 2
                                                           : (last_off_j - end_j / 2) / p.switches.parallel;
    for (const Side& side : kSides) {
      const Losses said = side.losses(p, figures_of(burst));
      const double fixed_j = (one.hottest_fixed_j + other.hottest_fixed_j) / 2 + counted_more_j;
      EXPECT_NEAR(said.mean_fixed_j, fixed_j, 1e-6 * fixed_j) << side.name;
      const double resistive_j = (one.hottest_resistive_j + other.hottest_resistive_j) / 2;
      EXPECT_NEAR(said.mean_resistive_j, resistive_j, 1e-6 * resistive_j) << side.name;
    }
  }
}

// The worse position is bounded, by a half of the largest half cycle; the bound is no more than that.
TEST_P(Integrated, HottestLossBoundsTheWorsePosition) {
  for (const SwitchKind kind : {SwitchKind::mosfet, SwitchKind::igbt}) {
    Profile p = profile_of(GetParam(), kind);
    p.switches.switching_uj = 0;  // which would hide all else
    const IntegratedBurst burst = TankIntegrator(tank_of(p)).burst(GetParam().on_us * 1e-6);
    const Losses one = lost(p, burst.position[0]), other = lost(p, burst.position[1]);
    const BurstFigures f = figures_of(burst);
    const double n = p.switches.parallel, ohm = p.switches.rds_on_mohm.value_or(0) / 1e3 / n / n;
    for (const Side& side : kSides) {
      const Losses said = side.losses(p, f);
      EXPECT_GE(said.hottest_fixed_j, std::max(one.hottest_fixed_j, other.hottest_fixed_j) * (1 - 1e-9))
          << side.name;
      EXPECT_GE(said.hottest_resistive_j,
                std::max(one.hottest_resistive_j, other.hottest_resistive_j) * (1 - 1e-9))
          << side.name;
      EXPECT_NEAR(said.hottest_resistive_j - said.mean_resistive_j, ohm * burst.largest_i2t / 2,
                  0.1 * ohm * burst.largest_i2t)
          << side.name;
      if (kind == SwitchKind::igbt) {
        const double slope_ohm = *p.switches.vce_slope_mohm / 1e3 / n / n;
        const double most_j =
            *p.switches.vce_sat_v / n * burst.largest_charge + slope_ohm * burst.largest_i2t;
        const double ring_j =
            std::max(1.5, *p.switches.vce_sat_v) / n * std::min(burst.largest_charge, f.charge_ring_down_c) +
            slope_ohm * std::min(burst.largest_i2t, f.i2t_ring_down_a2s);
        EXPECT_NEAR(said.hottest_fixed_j - said.mean_fixed_j, (most_j + ring_j) / 2, 0.1 * (most_j + ring_j))
            << side.name;
      }
    }
  }
}

// What both sides take from one table: the burst itself.
TEST_P(Integrated, TableHoldsWhatTheTankDoes) {
  const Profile p = profile_of(GetParam(), SwitchKind::mosfet);
  const auto table = current_table(p);
  const auto& rows = table->rows(false);
  const auto row = std::find_if(rows.begin(), rows.end(), [&](const CurrentRow& it) {
    return it.figures.on_time_us >= GetParam().on_us;
  });
  ASSERT_NE(row, rows.end());
  const BurstFigures& said = row->figures;
  const BurstFigures f = figures_of(TankIntegrator(tank_of(p)).burst(said.on_time_us * 1e-6));
  const std::pair<double, double> pairs[] = {{said.peak_current_a, f.peak_current_a},
                                             {said.energy_j, f.energy_j},
                                             {said.i2t_a2s, f.i2t_a2s},
                                             {said.charge_c, f.charge_c},
                                             {said.i2t_ring_down_a2s, f.i2t_ring_down_a2s},
                                             {said.charge_ring_down_c, f.charge_ring_down_c}};
  for (std::size_t i = 0; i < std::size(pairs); ++i)
    EXPECT_NEAR(pairs[i].first, pairs[i].second, 0.01 * pairs[i].second) << "figure " << i;
  // Of a driver that stops at zero the table counts the edge that then never comes.
  const double uncounted = GetParam().stops_at_zero ? 1 : 0;
  EXPECT_NEAR(said.half_cycles, f.half_cycles, uncounted);
  if (uncounted == 0) {
    EXPECT_NEAR(said.commutation_current_a, f.commutation_current_a, 0.01 * f.commutation_current_a);
  }
}

INSTANTIATE_TEST_SUITE_P(Tanks, Integrated, ::testing::ValuesIn(kBenches), [](const auto& tested) {
  return std::to_string(static_cast<int>(tested.param.khz)) + "kHz" + std::to_string(tested.index);
});

IntegratedNetwork network_of(const Profile& p) {
  IntegratedNetwork network;
  for (const FosterPair& pair : p.switches.foster) network.foster.push_back({pair.r_k_per_w, pair.tau_s});
  network.case_j_per_k = p.heatsink.case_heat_capacity_j_per_k.value_or(0.3);
  network.case_to_sink = *p.heatsink.case_to_sink_k_per_w;
  network.sink_to_ambient = *p.heatsink.sink_to_ambient_k_per_w;
  network.sink_j_per_k = *p.heatsink.sink_heat_capacity_j_per_k;
  network.on_one_sink = p.switches.on_one_sink;
  network.ambient_c = p.heatsink.ambient_c;
  if (p.switches.kind == SwitchKind::mosfet) network.rds_at_150c = *p.switches.rds_on_factor_at_150c;
  return network;
}

// Bursts of several lengths, close together and apart.
BurstStream music(Tick longest) {
  BurstStream stream{2'000'000, 0, {}};
  for (Tick i = 0; i < 120; ++i) {
    stream.bursts.push_back({stream.length, longest - (i % 7) * longest / 9});
    stream.length = stream.bursts.back().end() + 1'100 + i % 5 * 700 + (i % 40 == 39 ? 200'000 : 0);
  }
  return stream;
}

/// The stream's hottest junction and sink (K above ambient), the silence after it included.
IntegratedNetwork integrated(const Profile& p, const BurstStream& stream,
                             const std::function<Losses(Tick)>& losses_of) {
  IntegratedNetwork network = network_of(p);
  std::map<Tick, Losses> known;
  Tick now = 0;
  for (const Burst& burst : stream.bursts) {
    if (burst.start > now) network.go(static_cast<double>(burst.start - now) / 2e6, {});
    const auto [place, is_new] = known.try_emplace(burst.on);
    if (is_new) place->second = losses_of(burst.on);
    const Losses& lost_j = place->second;
    const double s = static_cast<double>(burst.on) / 2e6;
    network.go(s, {lost_j.hottest_fixed_j / s, lost_j.hottest_resistive_j / s, lost_j.mean_fixed_j / s,
                   lost_j.mean_resistive_j / s});
    now = burst.end();
  }
  network.go(0.5, {});
  network.foster.clear();  // by now at rest; what follows is slow
  network.go(6 * network.case_to_sink * network.case_j_per_k, {});
  return network;
}

/// Rises (K) of junction and sink that a side says.
struct Rises {
  double junction_k = 0, sink_k = 0;
};
Rises risen_by_judge(const Profile& p, const BurstStream& stream) {
  const Judgement judgement = judge(stream, p, {.seek_rest = false});
  return {result_of(judgement, "junction").worst - p.heatsink.ambient_c,
          result_of(judgement, "heatsink").worst - p.heatsink.ambient_c};
}
Rises risen_by_guard(const Profile& p, const BurstStream& stream) {
  const HeatModel model(p, stream.tick_hz);
  const auto table = current_table(p);
  const HeatOfStream heat = heat_of_stream(
      model, stream, [&](Tick on) { return table->figures(static_cast<double>(on) / 2); },
      Thermal(model.network()));
  return {heat.junction_c - p.heatsink.ambient_c, heat.sink_c - p.heatsink.ambient_c};
}
struct HeatSide {
  const char* name;
  Rises (*risen)(const Profile&, const BurstStream&);
  Losses (*losses)(const Profile&, const BurstFigures&);
};
constexpr HeatSide kHeatSides[] = {{"guard", risen_by_guard, by_guard}, {"judge", risen_by_judge, by_judge}};

// Of the heat that a side says, the network makes what the side says: exactly where the resistance does not
// follow the junction. Where it does, each side takes it where the burst is hottest.
TEST(IntegratedHeat, OfEachSidesLossesIsWhatItSays) {
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"})
    for (const bool follows : {false, true}) {
      Profile p = read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
      p.drive.clock_tolerance_percent = p.drive.pulse_stretch_ns = 0;
      if (!follows && p.switches.kind == SwitchKind::mosfet) p.switches.rds_on_factor_at_150c = 1;
      if (follows) p.heatsink.ambient_c = p.heatsink.start_c.emplace(95);  // where it has risen
      const BurstStream stream = music(static_cast<Tick>(2 * p.limits.on_time_max_us));
      const auto table = current_table(p);
      for (const HeatSide& side : kHeatSides) {
        const IntegratedNetwork found = integrated(
            p, stream, [&](Tick on) { return side.losses(p, table->figures(static_cast<double>(on) / 2)); });
        const Rises said = side.risen(p, stream);
        EXPECT_GT(said.junction_k, found.hottest_k * (1 - 1e-4)) << side.name << " of " << name;
        EXPECT_GT(said.sink_k, found.hottest_sink_k * (1 - 1e-3)) << side.name << " of " << name;
        const double more = follows ? 0.02 : 1e-4;
        EXPECT_LT(said.junction_k, found.hottest_k * (1 + more)) << side.name << " of " << name;
        EXPECT_LT(said.sink_k, found.hottest_sink_k * (1 + more + 1e-3)) << side.name << " of " << name;
      }
    }
}

// A small case goes on warming a small sink after a burst: its hottest moment lies inside the silence.
TEST(IntegratedHeat, OfTheSinkIsSeenInASilence) {
  Profile p = profile_of(kBenches[0], SwitchKind::mosfet);
  p.heatsink = {0.01, 0.5, 0.2, 0.02, 25.0, 25.0, {}};
  const BurstStream stream{2'000'000, 60'448, {{0, 440}, {60'440, 8}}};
  const auto table = current_table(p);
  for (const HeatSide& side : kHeatSides) {
    const IntegratedNetwork found = integrated(
        p, stream, [&](Tick on) { return side.losses(p, table->figures(static_cast<double>(on) / 2)); });
    EXPECT_NEAR(side.risen(p, stream).sink_k, found.hottest_sink_k, 0.03 * found.hottest_sink_k) << side.name;
  }
}

// From the tank's own current to the junction, nothing in between from either side: neither is cooler, nor
// far off.
TEST(IntegratedHeat, OfTheTankItselfIsNoMoreThanEachSideSays) {
  for (const Bench& bench : kBenches)
    for (const SwitchKind kind : {SwitchKind::mosfet, SwitchKind::igbt}) {
      const Profile p = profile_of(bench, kind);
      const BurstStream stream = music(static_cast<Tick>(2 * bench.on_us));
      const IntegratedNetwork found = integrated(p, stream, [&](Tick on) {
        const IntegratedBurst burst = TankIntegrator(tank_of(p)).burst(static_cast<double>(on) / 2e6);
        const Losses one = lost(p, burst.position[0]), other = lost(p, burst.position[1]);
        return Losses{std::max(one.hottest_fixed_j, other.hottest_fixed_j),
                      std::max(one.hottest_resistive_j, other.hottest_resistive_j),
                      (one.hottest_fixed_j + other.hottest_fixed_j) / 2,
                      (one.hottest_resistive_j + other.hottest_resistive_j) / 2};
      });
      for (const HeatSide& side : kHeatSides) {
        const Rises said = side.risen(p, stream);
        EXPECT_GT(said.junction_k, found.hottest_k * (1 - 1e-3)) << side.name << " at " << bench.khz;
        EXPECT_LT(said.junction_k, found.hottest_k * 1.8) << side.name << " at " << bench.khz;
      }
    }
}

}  // namespace
}  // namespace burstloom
