#include "contradictions.hpp"

#include <cstdio>

#include "burstloom/coil/current_table.hpp"
#include "burstloom/common/error.hpp"
#include "keys.hpp"

namespace burstloom {
namespace {

// A driver's propagation delay alone is longer (common practice: 20 to 100 ns), and so is a period of the
// fastest coil: such a figure has the wrong unit.
constexpr double kShortestMax_us = 0.1;

struct Refusal {
  const KeyLines& lines;
  [[noreturn]] void operator()(const std::string& path, const std::string& what,
                               const std::string& do_this) const {
    throw bad_input(what, lines.where(path), do_this);
  }
};

// Computed figures: no more digits than anybody measures.
std::string brief(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.6g", value);
  return text;
}

std::string us(double value) {
  return brief(value) + " µs";
}

std::string entry(std::size_t index) {
  return "limits.duty[" + std::to_string(index + 1) + "]";
}

void check_on_times(const Profile& profile, const Refusal& refuse) {
  const Limits& limits = profile.limits;
  if (limits.on_time_max_us < kShortestMax_us)
    refuse("limits.on_time_us.max",
           "limits.on_time_us.max is " + us(limits.on_time_max_us) + ", shorter than any gate driver's burst",
           "if " + brief(limits.on_time_max_us) + " ms are meant, write max = " +
               brief(limits.on_time_max_us * 1000) + ": on-times are in us here");
  if (limits.on_time_min_us > limits.on_time_max_us)
    refuse("limits.on_time_us.min",
           "limits.on_time_us.min is " + us(limits.on_time_min_us) + ", above max, which is " +
               us(limits.on_time_max_us),
           "give a min that is at most max");
  if (const double stretch = profile.drive.pulse_stretch_ns / 1000; stretch >= limits.on_time_max_us)
    refuse("drive.pulse_stretch_ns",
           "drive.pulse_stretch_ns is " + plain(profile.drive.pulse_stretch_ns) +
               ": it alone fills limits.on_time_us.max, which is " + us(limits.on_time_max_us),
           "measure the stretch again, in ns, and choose a driver that adds less");
}

void check_duty(const Limits& limits, const Refusal& refuse) {
  for (std::size_t i = 0; i < limits.duty.size(); ++i) {
    const auto& [window, percent] = limits.duty[i];
    for (std::size_t j = 0; j < i; ++j)
      if (limits.duty[j].window_ms == window)
        refuse(entry(i) + ".window_ms",
               "limits.duty has the window " + plain(window) + " ms twice, in entries " +
                   std::to_string(j + 1) + " and " + std::to_string(i + 1),
               "keep one of them");
    const double allowance = window * 1000 * percent / 100;
    if (limits.on_time_min_us > allowance)
      refuse(entry(i) + ".percent",
             "limits.duty entry " + std::to_string(i + 1) + " allows " + us(allowance) + " in any " +
                 plain(window) + " ms, less than one burst of limits.on_time_us.min, which is " +
                 us(limits.on_time_min_us),
             "lower min to at most " + us(allowance) + ", or give a longer window");
  }
}

void check_points(const Profile& profile, const Refusal& refuse) {
  const MeasuredCurrent& points = *profile.measured;
  if (points.on_time_us.size() != points.peak_current_a.size())
    refuse("measured.peak_current_a",
           "measured.on_time_us has " + std::to_string(points.on_time_us.size()) +
               " numbers and measured.peak_current_a has " + std::to_string(points.peak_current_a.size()),
           "give one peak current for each on-time");
  for (std::size_t i = 1; i < points.on_time_us.size(); ++i)
    if (points.on_time_us[i] <= points.on_time_us[i - 1])
      refuse("measured.on_time_us",
             "measured.on_time_us does not rise: " + plain(points.on_time_us[i]) + " follows " +
                 plain(points.on_time_us[i - 1]),
             "order the points by on-time and keep one of each");
  if (!profile.drive.bus_v)
    refuse("measured.bus_v",
           "drive.bus_v is missing, and the points of [measured] cannot be scaled to the bus without it",
           "give drive.bus_v in volts");
}

void check_current(const Profile& profile, const Refusal& refuse) {
  const auto longest = longest_on_time_for_current_us(profile);
  if (!longest || *longest >= profile.limits.on_time_min_us) return;
  const std::string least = us(profile.limits.on_time_min_us);
  const std::string basis = !current_table(profile)->has_model() ? "[measured]"
                            : profile.measured                   ? "the model and [measured]"
                                                                 : "the model of [primary] and [secondary]";
  if (const auto peak = peak_current_a(profile, profile.limits.on_time_min_us))
    refuse("limits.peak_current_a",
           "limits.peak_current_a is " + plain(*profile.limits.peak_current_a) + " A, but by " + basis +
               ", at the highest bus, even a "
               "burst of limits.on_time_us.min, " +
               least + ", reaches " + brief(*peak) + " A",
           "lower the bus or min, or measure shorter bursts");
  refuse("measured.on_time_us",
         "measured.on_time_us ends at " + us(*longest) + ", before limits.on_time_us.min, which is " + least +
             ": no burst's current can be told",
         "measure longer bursts or lower min");
}

const char* key_of(LongestBurst bound_by) {
  switch (bound_by) {
    case LongestBurst::peak_current:
      return "limits.peak_current_a";
    case LongestBurst::tank_voltage:
      return "limits.tank_capacitor_v";
    case LongestBurst::switch_voltage:
      return "limits.switch_v";
    case LongestBurst::on_time_max:
      break;
  }
  return "max";
}

// What the owner allows at the gate, seen from the command: the clock and the stretch take their share of
// both ends.
void check_command(const Profile& profile, const Refusal& refuse) {
  const CommandLimits limits = command_limits(profile);
  if (limits.on_time_min_us <= limits.on_time_max_us) return;
  refuse("limits.on_time_us",
         "limits.on_time_us leaves no burst: with drive.pulse_stretch_ns " +
             plain(profile.drive.pulse_stretch_ns) + " and drive.clock_tolerance_percent " +
             plain(profile.drive.clock_tolerance_percent) + " a command has to last at least " +
             us(limits.on_time_min_us) + " for min and at most " + us(limits.on_time_max_us) +
             std::string(" for ") + key_of(limits.bound_by),
         "lower min, or measure stretch and clock more closely");
}

void check_kind(const Profile& profile, const Refusal& refuse) {
  const Switch& one = profile.switches;
  const bool igbt = one.kind == SwitchKind::igbt;
  const auto forbid = [&](bool given, const char* name) {
    if (given)
      refuse(std::string("switch.") + name,
             std::string("switch.") + name + " is given, but switch.kind is " +
                 (igbt ? "\"igbt\"" : "\"mosfet\""),
             igbt ? "leave it out or set kind = \"mosfet\"" : "leave it out or set kind = \"igbt\"");
  };
  forbid(igbt && one.rds_on_mohm, "rds_on_mohm");
  forbid(igbt && one.rds_on_factor_at_150c, "rds_on_factor_at_150c");
  forbid(!igbt && one.vce_sat_v, "vce_sat_v");
  forbid(!igbt && one.vce_slope_mohm, "vce_slope_mohm");
  forbid(!igbt && one.switching_uj, "switching_uj");
  if (profile.drive.primary == PrimaryKind::current_fed && !profile.drive.feed_inductance_uh)
    refuse("drive.primary", "drive.primary is \"current-fed\" and drive.feed_inductance_uh is missing",
           "give the feed choke's inductance in uH");
}

void check_temperatures(const Profile& profile, const Refusal& refuse) {
  const Heatsink& sink = profile.heatsink;
  const auto forbid = [&](const std::optional<double>& limit, const char* name, double cold,
                          const char* cold_name) {
    if (limit && *limit <= cold)
      refuse(std::string("limits.") + name,
             std::string("limits.") + name + " is " + plain(*limit) + " °C, not above heatsink." + cold_name +
                 ", which is " + plain(cold) + " °C",
             "start cooler, or give the limit that the data sheet allows");
  };
  for (const auto& [limit, name] : {std::pair{profile.limits.junction_c, "junction_c"},
                                    std::pair{profile.limits.heatsink_c, "heatsink_c"}}) {
    forbid(limit, name, sink.ambient_c, "ambient_c");
    if (sink.start_c) forbid(limit, name, *sink.start_c, "start_c");
  }
  if (sink.case_start_c) forbid(profile.limits.junction_c, "junction_c", *sink.case_start_c, "case_start_c");
}

}  // namespace

void require_consistent(const Profile& profile, const KeyLines& lines) {
  const Refusal refuse{lines};
  check_on_times(profile, refuse);
  check_duty(profile.limits, refuse);
  check_kind(profile, refuse);
  check_temperatures(profile, refuse);
  if (profile.measured) check_points(profile, refuse);
  check_current(profile, refuse);
  check_command(profile, refuse);
}

}  // namespace burstloom
