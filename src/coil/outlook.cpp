#include "burstloom/coil/outlook.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/coil/heat.hpp"
#include "burstloom/coil/waveform.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

constexpr double kDetuning = 0.05;

double drive_v(const Profile& profile) {
  return bridge_v(profile.drive.bridge,
                  *profile.drive.bus_v * (1 + profile.drive.bus_tolerance_percent / 100));
}

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", value);
  return text;
}

// A single burst from rest and all of its ring-down.
BurstRun run_of(const Circuit& circuit, double volts, double on_us) {
  const auto modes = modes_of(circuit);
  double slowest_s = 0;
  for (const Mode& mode : modes) slowest_s = std::max(slowest_s, mode.decay_s);
  const GateBurst burst{0, on_us};
  const double cycle_us = modes.empty() ? 1 : 1e6 / modes.front().frequency_hz;
  return simulate(circuit, volts, {&burst, 1},
                  on_us + cycle_us + std::min(8 * slowest_s * 1e6, 4000 * cycle_us))
      .bursts[0];
}

double worse_peak_a(const Profile& profile, double on_us) {
  double worse = 0;
  for (const bool loaded : {false, true})
    worse = std::max(worse, run_of(circuit_of(profile, loaded).circuit, drive_v(profile), on_us).peak_a);
  return worse;
}

Tank tank_of(double henry, double farad, double ohm) {
  const double impedance = std::sqrt(henry / farad);
  return {1 / (2 * std::numbers::pi * std::sqrt(henry * farad)), impedance, impedance / ohm, 2 * henry / ohm};
}

// Whether a note may go on for ever, and if not, by which limit.
std::string what_forbids(const Profile& profile, const CurrentTable& table, double rate_hz, double on_us) {
  const Limits& limits = profile.limits;
  const double period_us = 1e6 / rate_hz;
  if (on_us + limits.gap_us > period_us) return "gap";
  for (const DutyLimit& duty : limits.duty)
    if (100 * on_us / period_us > duty.percent) return "duty " + number(duty.window_ms) + " ms";
  if (!table.has_model()) return {};
  const BurstFigures figures = table.figures(on_us);
  if (limits.supply_w && figures.energy_j * rate_hz > *limits.supply_w) return "supply";
  if (limits.tank_capacitor_a_rms &&
      std::sqrt((figures.i2t_a2s + figures.i2t_ring_down_a2s) * rate_hz) > *limits.tank_capacitor_a_rms)
    return "tank capacitor current";
  if (!missing_for_heat(profile).heatsink.empty()) return {};
  const HeatModel model(profile, kDefaultTickHz);
  const auto ticks = std::max<Tick>(1, static_cast<Tick>(on_us * 2));
  const SteadyHeat heat =
      steady_heat(model.network(), model.power(ticks, figures), on_us * 1e-6, period_us * 1e-6);
  if (limits.heatsink_c && (heat.runs_away || heat.sink_c > *limits.heatsink_c)) return "heatsink";
  if (limits.junction_c && model.judges_junction() &&
      (heat.runs_away || heat.junction_c > *limits.junction_c))
    return "junction";
  return {};
}

SteadyNote steady_note(const Profile& profile, const CurrentTable& table, double rate_hz) {
  const CommandLimits command = command_limits(profile);
  SteadyNote note{rate_hz, command.on_time_max_us, 0, name_of(command.bound_by)};
  if (const std::string forbidden = what_forbids(profile, table, rate_hz, note.on_time_us);
      !forbidden.empty()) {
    double low = 0, high = note.on_time_us;
    for (int i = 0; i < 40; ++i) {
      const double middle = (low + high) / 2;
      (what_forbids(profile, table, rate_hz, middle).empty() ? low : high) = middle;
    }
    note.on_time_us = low;
    note.bound_by = what_forbids(profile, table, rate_hz, high);
  }
  note.duty_percent = note.on_time_us * rate_hz / 1e4;
  return note;
}

void add_sensitivities(const Profile& profile, double on_us, Outlook& outlook) {
  const double base_a = worse_peak_a(profile, on_us);
  const auto try_with = [&](const std::string& value, auto change) {
    for (const double by : {-kDetuning, kDetuning}) {
      Profile off = profile;
      change(off, 1 + by);
      outlook.sensitivities.push_back(
          {value + (by > 0 ? ", 5 % more" : ", 5 % less"), 100 * (worse_peak_a(off, on_us) / base_a - 1)});
    }
  };
  try_with("primary inductance", [](Profile& off, double by) { *off.primary.inductance_uh *= by; });
  if (profile.primary.capacitance_nf && profile.drive.primary != PrimaryKind::untuned)
    try_with("primary capacitance", [](Profile& off, double by) { *off.primary.capacitance_nf *= by; });
  if (!profile.secondary.coupling) return;
  try_with("secondary inductance or capacitance",
           [](Profile& off, double by) { *off.secondary.resonance_khz /= std::sqrt(by); });
  try_with("coupling", [](Profile& off, double by) {
    *off.secondary.coupling = std::min(0.99, *off.secondary.coupling * by);
  });
}

void add_warnings(const Profile& profile, const CurrentTable& table, Outlook& outlook) {
  auto& warnings = outlook.warnings;
  if (!table.remark().empty()) warnings.push_back(table.remark());
  for (const PointBesideModel& point : table.points_beside_model())
    if (std::abs(point.off_percent()) > kDoubtfulPercent)
      warnings.push_back(
          "at " + number(point.on_time_us) + " µs the bench measured " + number(point.measured_a) +
          " A where the model has " + number(point.model_a) +
          " A: check the probe's scale, the bus while measuring, whether streamers were out, the tuning "
          "(5 % of it is 25 % of current) and the commutation delay");
  if (outlook.detuned_peak_a && profile.limits.peak_current_a &&
      *outlook.detuned_peak_a > *profile.limits.peak_current_a)
    warnings.push_back(
        "detuned by up to 5 % (a strike to earth, a hand near the coil) the longest burst may reach " +
        number(*outlook.detuned_peak_a) + " A, over the limit");
  if (profile.limits.gap_us * 1e-6 < outlook.ring_down_s)
    warnings.push_back("a burst takes up to " + number(outlook.ring_down_s * 1e6) +
                       " µs to ring down, longer than the shortest gap: limits count with " +
                       number(outlook.residual_a) + " A left over");
}

}  // namespace

std::optional<double> detuned_peak_a(const Profile& profile, double on_time_us) {
  if (!circuit_of(profile, false).known || !profile.secondary.resonance_khz || !(on_time_us > 0))
    return std::nullopt;
  double worst = 0;
  for (const double by : {-kDetuning, -kDetuning / 2, 0.0, kDetuning / 2, kDetuning}) {
    Profile off = profile;
    *off.secondary.resonance_khz *= 1 + by;
    worst = std::max(worst, worse_peak_a(off, on_time_us));
  }
  return worst;
}

std::vector<BurstOutlook> burst_outlook(const Profile& profile, const std::vector<double>& on_times_us) {
  std::vector<BurstOutlook> bursts;
  for (const double on_us : on_times_us) {
    if (!(on_us > 0 && on_us <= 1e6))
      throw Error(Fault::usage, "an on-time of " + number(on_us) + " µs", "--on-time",
                  "give on-times above 0 µs, up to 1 s");
    for (const bool loaded : {true, false}) {
      const CircuitAnswer answer = circuit_of(profile, loaded);
      if (!answer.known)
        throw bad_input("the current of a burst cannot be computed (" + answer.why_not + ")",
                        printable(profile.name), "give what is missing in the profile");
      const BurstRun run = run_of(answer.circuit, drive_v(profile), on_us);
      bursts.push_back(
          {on_us, loaded, run.peak_a, run.energy_j - run.returned_j, run.burst_i2t_a2s + run.ring_i2t_a2s});
    }
  }
  return bursts;
}

std::vector<SteadyNote> steady_notes(const Profile& profile, const std::vector<double>& rates_hz) {
  std::vector<SteadyNote> notes;
  const auto table = current_table(profile);
  for (const double rate_hz : rates_hz)
    if (!profile.limits.break_rate_hz || rate_hz <= *profile.limits.break_rate_hz)
      notes.push_back(steady_note(profile, *table, rate_hz));
  return notes;
}

Outlook outlook(const Profile& profile) {
  Outlook outlook;
  const auto table = current_table(profile);
  outlook.why_no_model = table->why_no_model();
  outlook.steady = steady_notes(profile, {50, 100, 200, 400, 800});
  if (!table->has_model()) return outlook;
  const Circuit unloaded = circuit_of(profile, false).circuit;
  if (unloaded.kind != PrimaryKind::untuned)
    outlook.primary = tank_of(unloaded.primary_h, unloaded.primary_f, unloaded.primary_ohm);
  if (profile.secondary.resonance_khz) outlook.secondary_hz = *profile.secondary.resonance_khz * 1e3;
  outlook.modes = modes_of(unloaded);
  outlook.modes_loaded = modes_of(circuit_of(profile, true).circuit);
  outlook.ring_down_s = table->ring_down_s();
  outlook.residual_a = table->residual_a();
  const double longest_us = command_limits(profile).on_time_max_us;
  add_sensitivities(profile, longest_us, outlook);
  outlook.detuned_peak_a = detuned_peak_a(profile, longest_us);
  add_warnings(profile, *table, outlook);
  return outlook;
}

}  // namespace burstloom
