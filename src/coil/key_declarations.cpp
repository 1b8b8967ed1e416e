// Every key of a profile, declared once: place, unit, range, default, meaning.
#include "keys.hpp"

#include <type_traits>

namespace burstloom {
namespace {

constexpr Range from_zero(double high) {
  return {0, high};
}
constexpr Range between(double low, double high) {
  return {low, high};
}
constexpr Range temperature() {
  return {-60, 300};
}

// How a declaration ends: is the key asked for, what holds without it, what does `coil new` write.
struct Use {
  bool required;
  std::string fallback, start, example = {};
};
// `start` has a '?' for each value: nobody but the owner knows it, and it parses only once it is written.
Use to_be_written(std::string start, std::string example, bool needed = true) {
  return {needed, "", std::move(start), std::move(example)};
}
Use required_inside() {
  return {true, "", ""};
}
Use optional(std::string start) {
  return {false, "", std::move(start)};
}
Use defaults_to(const std::string& value) {
  return {false, value, value};
}

Key key(std::string path, KeyKind kind, const Use& use, std::string meaning) {
  Key made;
  made.path = std::move(path);
  made.kind = kind;
  made.required = use.required;
  made.fallback = use.fallback;
  made.start = use.start;
  made.example = use.example;
  made.meaning = std::move(meaning);
  return made;
}

Key table(std::string path, std::string meaning, std::function<void(Profile&)> enter = {},
          bool needed = false) {
  Key made = key(std::move(path), KeyKind::table, {needed, "", ""}, std::move(meaning));
  if (enter) made.store = [enter = std::move(enter)](Profile& p, const Given&) { enter(p); };
  return made;
}

// A table inside a table is written in one line, as `on_time_us = { min = 2.0, max = 10.0 }`.
Key on_times_table() {
  return key("limits.on_time_us", KeyKind::table,
             to_be_written("{ min = ?, max = ? }", "{ min = 2.0, max = 10.0 }"),
             "shortest and longest on-time");
}

template <class Enter>
Key list(std::string path, std::size_t most, const Use& use, std::string meaning, Enter enter) {
  Key made = key(std::move(path), KeyKind::list, use, std::move(meaning));
  made.most = most;
  made.store = [enter](Profile& p, const Given&) { enter(p); };
  return made;
}

template <class Place>
Key number(std::string path, std::string unit, Range range, const Use& use, std::string meaning,
           Place place) {
  Key made = key(std::move(path), KeyKind::number, use, std::move(meaning));
  made.unit = std::move(unit);
  made.range = range;
  made.store = [place](Profile& p, const Given& given) { place(p) = std::get<double>(given); };
  return made;
}

template <class Place>
Key whole(std::string path, Range range, const Use& use, std::string meaning, Place place) {
  Key made = key(std::move(path), KeyKind::whole, use, std::move(meaning));
  made.range = range;
  made.store = [place](Profile& p, const Given& given) {
    place(p) = static_cast<int>(std::get<double>(given));
  };
  return made;
}

template <class Place>
Key numbers(std::string path, std::string unit, Range range, const Use& use, std::string meaning,
            Place place) {
  Key made = key(std::move(path), KeyKind::numbers, use, std::move(meaning));
  made.unit = std::move(unit);
  made.range = range;
  made.most = 1000;
  made.store = [place](Profile& p, const Given& given) { place(p) = std::get<std::vector<double>>(given); };
  return made;
}

template <class Place>
Key flag(std::string path, const Use& use, std::string meaning, Place place) {
  Key made = key(std::move(path), KeyKind::flag, use, std::move(meaning));
  made.store = [place](Profile& p, const Given& given) { place(p) = std::get<bool>(given); };
  return made;
}

// `words` in the order of the enumeration's values.
template <class Place>
Key choice(std::string path, std::vector<std::string> words, const Use& use, std::string meaning,
           Place place) {
  Key made = key(std::move(path), KeyKind::choice, use, std::move(meaning));
  made.choices = std::move(words);
  made.store = [place](Profile& p, const Given& given) {
    auto& stored = place(p);
    stored = static_cast<std::remove_reference_t<decltype(stored)>>(std::get<std::size_t>(given));
  };
  return made;
}

Key name_key() {
  Key made = key("name", KeyKind::text, to_be_written("?", "\"My coil\""), "your own name for the coil");
  made.most = 80;
  made.store = [](Profile& p, const Given& given) { p.name = std::get<std::string>(given); };
  return made;
}

// Where a key is stored: PLACE(drive.bus_v) is the member of that path.
#define PLACE(member)        \
  [](Profile & p) -> auto& { \
    return p.member;         \
  }

using Keys = std::vector<Key>;

// The ends of the ranges are far past any table-top coil, on both sides: they catch a wrong unit and keep
// sums, and the number of steps they take, finite.
Keys drive_keys() {
  return {
      table("drive", "How the primary is driven."),
      choice("drive.bridge", {"half", "full", "push-pull"}, defaults_to("\"half\""),
             "the bridge; half puts half the bus across the primary", PLACE(drive.bridge)),
      choice("drive.primary", {"series-resonant", "untuned", "current-fed"},
             defaults_to("\"series-resonant\""), "how the primary is fed", PLACE(drive.primary)),
      number("drive.bus_v", "V", between(1, 10'000), optional("36.0"), "the bus, with the coil at rest",
             PLACE(drive.bus_v)),
      number("drive.bus_tolerance_percent", "%", from_zero(100), defaults_to("10.0"),
             "how far above bus_v the bus may be", PLACE(drive.bus_tolerance_percent)),
      number("drive.commutation_delay_ns", "ns", from_zero(100'000), defaults_to("0.0"),
             "from the current's zero crossing to the bridge's edge", PLACE(drive.commutation_delay_ns)),
      choice("drive.ring_down", {"diode-return", "freewheel"}, defaults_to("\"diode-return\""),
             "what the bridge does after a burst: all switches open, or the tank shorted",
             PLACE(drive.ring_down)),
      flag("drive.stops_at_zero", defaults_to("false"), "true: the driver finishes the running half cycle",
           PLACE(drive.stops_at_zero)),
      number("drive.pulse_stretch_ns", "ns", from_zero(1'000'000), defaults_to("0.0"),
             "what optics and driver add to a burst", PLACE(drive.pulse_stretch_ns)),
      number("drive.clock_tolerance_percent", "%", from_zero(10), defaults_to("0.5"),
             "of the clock that will play the stream", PLACE(drive.clock_tolerance_percent)),
      number("drive.feed_inductance_uh", "uH", between(0.1, 1e6), optional("100.0"),
             "the feed choke; must be given for, and is used only with, primary = \"current-fed\"",
             PLACE(drive.feed_inductance_uh)),
  };
}

Keys tank_keys() {
  return {
      table("primary", "The primary tank."),
      number("primary.inductance_uh", "uH", between(0.05, 1e5), optional("2.0"),
             "primary inductance, leads and bridge loop included", PLACE(primary.inductance_uh)),
      number("primary.capacitance_nf", "nF", between(0.01, 1e5), optional("8.2"), "tank capacitance",
             PLACE(primary.capacitance_nf)),
      number("primary.resistance_ohm", "ohm", between(0.001, 1000), optional("0.3"),
             "tank resistance at its own frequency, without the switches", PLACE(primary.resistance_ohm)),
      table("secondary", "The secondary and what hangs on it."),
      number("secondary.inductance_mh", "mH", between(0.001, 1e4), optional("0.4"), "secondary inductance",
             PLACE(secondary.inductance_mh)),
      number("secondary.resonance_khz", "kHz", between(1, 1e5), optional("1243.0"),
             "its resonance with top load, primary open", PLACE(secondary.resonance_khz)),
      number("secondary.quality_factor", "", between(1, 1e5), optional("100.0"),
             "its quality factor at resonance, without sparks", PLACE(secondary.quality_factor)),
      number("secondary.coupling", "", {0.001, 1, true}, optional("0.1"), "coupling factor k to the primary",
             PLACE(secondary.coupling)),
      number("secondary.streamer_load_kohm", "kohm", between(0.1, 1e6), optional("100.0"),
             "what the streamers load the top with, as a resistance", PLACE(secondary.streamer_load_kohm)),
  };
}

Keys measured_keys() {
  return {
      table("measured", "Bench points: the peak primary current of single bursts.",
            [](Profile& p) { p.measured.emplace(); }),
      number("measured.bus_v", "V", between(1, 10'000), {true, "", "36.0"}, "the bus they were taken at",
             PLACE(measured->bus_v)),
      flag("measured.loaded", {true, "", "true"}, "true: taken with streamers", PLACE(measured->loaded)),
      numbers("measured.on_time_us", "us", between(0.1, 1e6), {true, "", "[10, 20, 50]"},
              "burst lengths as the gate driver saw them, rising", PLACE(measured->on_time_us)),
      numbers("measured.peak_current_a", "A", between(0.001, 1e5), {true, "", "[18, 25, 27]"},
              "the peak current of each", PLACE(measured->peak_current_a)),
  };
}

Keys timing_limit_keys() {
  return {
      table("limits", "What no burst of any stream may pass.", {}, true),
      on_times_table(),
      number("limits.on_time_us.min", "us", between(0.1, 10'000), required_inside(),
             "shortest burst; a shorter one is lengthened or left out", PLACE(limits.on_time_min_us)),
      number("limits.on_time_us.max", "us", between(0.1, 10'000), required_inside(), "longest burst",
             PLACE(limits.on_time_max_us)),
      number("limits.gap_us", "us", from_zero(100'000), to_be_written("?", "400.0"),
             "shortest time from a burst's end to the next start; 0 for continuous-wave coils",
             PLACE(limits.gap_us)),
      list("limits.duty", kMostDutyEntries,
           to_be_written("[ { window_ms = 10.0, percent = ? }, { window_ms = 1000.0, percent = ? } ]",
                         "2.0 in 10 ms, 1.0 in a second"),
           "how much of any window may be on-time", [](Profile& p) { p.limits.duty.emplace_back(); }),
      number("limits.duty[].window_ms", "ms", between(0.1, 3'600'000), required_inside(),
             "the window's length", PLACE(limits.duty.back().window_ms)),
      number("limits.duty[].percent", "%", between(0.001, 100), required_inside(), "its allowance",
             PLACE(limits.duty.back().percent)),
      number("limits.break_rate_hz", "Hz", between(10, 1e6), to_be_written("?", "1000.0", false),
             "bursts started in any window of 100 ms, times ten", PLACE(limits.break_rate_hz)),
  };
}

Keys electric_limit_keys() {
  return {
      number("limits.peak_current_a", "A", between(0.01, 1e5), optional("30.0"), "peak primary current",
             PLACE(limits.peak_current_a)),
      number("limits.tank_capacitor_v", "V", between(1, 1e6), optional("1000.0"),
             "peak voltage across the tank capacitor", PLACE(limits.tank_capacitor_v)),
      number("limits.tank_capacitor_a_rms", "A", between(0.001, 1e5), optional("8.0"),
             "current through the tank capacitor, rms over any second", PLACE(limits.tank_capacitor_a_rms)),
      number("limits.switch_v", "V", between(1, 1e5), optional("80.0"), "peak voltage across one switch",
             PLACE(limits.switch_v)),
      number("limits.junction_c", "C", temperature(), optional("110.0"), "junction of the hottest switch",
             PLACE(limits.junction_c)),
      number("limits.heatsink_c", "C", temperature(), optional("70.0"), "heatsink", PLACE(limits.heatsink_c)),
      number("limits.supply_w", "W", between(0.01, 1e6), optional("60.0"),
             "mean power from the supply over any second", PLACE(limits.supply_w)),
      table("sound", "What the coil's sound can carry."),
      whole("sound.voices", between(1, 16), defaults_to("3"), "how many notes may sound at once",
            PLACE(voices)),
  };
}

Keys switch_keys() {
  return {
      table("switch", "One switch of the bridge, from its data sheet."),
      choice("switch.kind", {"mosfet", "igbt"}, defaults_to("\"mosfet\""), "what it is",
             PLACE(switches.kind)),
      whole("switch.parallel", between(1, 64), defaults_to("1"), "how many share one position of the bridge",
            PLACE(switches.parallel)),
      whole("switch.on_one_sink", between(1, 256), defaults_to("1"), "how many share the heatsink",
            PLACE(switches.on_one_sink)),
      number("switch.rds_on_mohm", "mohm", between(0.01, 1e5), optional("40.0"),
             "mosfet: resistance of one, at 25 C", PLACE(switches.rds_on_mohm)),
      number("switch.rds_on_factor_at_150c", "", between(1, 10), optional("2.0"),
             "mosfet: how many times that at 150 C", PLACE(switches.rds_on_factor_at_150c)),
      number("switch.vce_sat_v", "V", between(0.01, 100), optional("1.0"),
             "igbt: the part of the saturation voltage that current does not change",
             PLACE(switches.vce_sat_v)),
      number("switch.vce_slope_mohm", "mohm", from_zero(1e5), optional("15.0"),
             "igbt: how the saturation voltage rises with current", PLACE(switches.vce_slope_mohm)),
      number("switch.switching_uj", "uJ", from_zero(1e6), optional("300.0"),
             "igbt: energy lost in one on and one off at rated current", PLACE(switches.switching_uj)),
      number("switch.rise_ns", "ns", from_zero(100'000), optional("30.0"), "current rise time",
             PLACE(switches.rise_ns)),
      number("switch.fall_ns", "ns", from_zero(100'000), optional("30.0"), "current fall time",
             PLACE(switches.fall_ns)),
      list("switch.foster", 16,
           optional("[ { r_k_per_w = 0.2, tau_s = 0.0002 }, { r_k_per_w = 0.6, tau_s = 0.01 } ]"),
           "junction to case, the data sheet's Foster network",
           [](Profile& p) { p.switches.foster.emplace_back(); }),
      number("switch.foster[].r_k_per_w", "K/W", between(0.0001, 1e4), required_inside(),
             "thermal resistance of the pair", PLACE(switches.foster.back().r_k_per_w)),
      number("switch.foster[].tau_s", "s", between(0.000001, 1e5), required_inside(), "its time constant",
             PLACE(switches.foster.back().tau_s)),
  };
}

Keys heat_and_supply_keys() {
  return {
      table("heatsink", "From the case to the air."),
      number("heatsink.case_heat_capacity_j_per_k", "J/K", between(0.001, 1e6), optional("2.0"),
             "of one case", PLACE(heatsink.case_heat_capacity_j_per_k)),
      number("heatsink.case_to_sink_k_per_w", "K/W", from_zero(1e4), optional("0.5"),
             "through pad and paste, one switch", PLACE(heatsink.case_to_sink_k_per_w)),
      number("heatsink.sink_to_ambient_k_per_w", "K/W", between(0.001, 1e4), optional("6.0"),
             "the sink in its place", PLACE(heatsink.sink_to_ambient_k_per_w)),
      number("heatsink.sink_heat_capacity_j_per_k", "J/K", between(0.1, 1e7), optional("60.0"), "of the sink",
             PLACE(heatsink.sink_heat_capacity_j_per_k)),
      number("heatsink.ambient_c", "C", temperature(), defaults_to("25.0"), "air around the sink",
             PLACE(heatsink.ambient_c)),
      number("heatsink.start_c", "C", temperature(), {false, "ambient_c", "25.0"},
             "the sink when the song starts", PLACE(heatsink.start_c)),
      number("heatsink.case_start_c", "C", temperature(), {false, "start_c", "25.0"},
             "the switches' cases then, where a song before has warmed them", PLACE(heatsink.case_start_c)),
      table("supply", "What feeds the bus."),
      number("supply.bus_capacitance_uf", "uF", between(0.01, 1e7), optional("470.0"),
             "capacitance across the bus", PLACE(supply.bus_capacitance_uf)),
      number("supply.current_limit_a", "A", between(0.001, 1e4), optional("2.5"),
             "what the supply delivers at most", PLACE(supply.current_limit_a)),
  };
}

#undef PLACE

Keys declare_keys() {
  Keys all = {name_key()};
  for (auto part : {drive_keys, tank_keys, measured_keys, timing_limit_keys, electric_limit_keys, switch_keys,
                    heat_and_supply_keys})
    for (Key& one : part()) all.push_back(std::move(one));
  return all;
}

}  // namespace

const std::vector<Key>& all_keys() {
  static const std::vector<Key> keys = declare_keys();
  return keys;
}

}  // namespace burstloom
