// The coil's profile: what it is and what it survives, as the owner wrote it down (TOML).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace burstloom {

enum class Bridge { half, full, push_pull };
enum class PrimaryKind { series_resonant, untuned, current_fed };
enum class RingDown { diode_return, freewheel };
enum class SwitchKind { mosfet, igbt };

struct Drive {
  Bridge bridge = Bridge::half;
  PrimaryKind primary = PrimaryKind::series_resonant;
  std::optional<double> bus_v;
  double bus_tolerance_percent = 10.0;
  double commutation_delay_ns = 0.0;
  RingDown ring_down = RingDown::diode_return;
  bool stops_at_zero = false;                ///< the driver finishes the running half cycle
  double pulse_stretch_ns = 0.0;             ///< what optics and driver add to a burst
  double clock_tolerance_percent = 0.5;      ///< of the clock that will play the stream
  std::optional<double> feed_inductance_uh;  ///< current-fed only
  friend bool operator==(const Drive&, const Drive&) = default;
};

struct Primary {
  std::optional<double> inductance_uh, capacitance_nf, resistance_ohm;
  friend bool operator==(const Primary&, const Primary&) = default;
};

struct Secondary {
  std::optional<double> inductance_mh, resonance_khz, quality_factor, coupling, streamer_load_kohm;
  friend bool operator==(const Secondary&, const Secondary&) = default;
};

/// Bench points, in rising order of on-time, taken at `bus_v`.
struct MeasuredCurrent {
  double bus_v = 0;
  bool loaded = false;  ///< with streamers
  std::vector<double> on_time_us, peak_current_a;
  friend bool operator==(const MeasuredCurrent&, const MeasuredCurrent&) = default;
};

/// At most `percent` of any window of `window_ms` may be on-time.
struct DutyLimit {
  double window_ms = 0;
  double percent = 0;
};

struct Limits {
  double on_time_min_us = 0, on_time_max_us = 0;
  double gap_us = 0;                    ///< 0 for coils that may run without a pause
  std::vector<DutyLimit> duty;          ///< at least one, in rising order of window
  std::optional<double> break_rate_hz;  ///< bursts started in any window of 100 ms, times ten
  std::optional<double> peak_current_a, tank_capacitor_v, tank_capacitor_a_rms, switch_v;
  std::optional<double> junction_c, heatsink_c, supply_w;
};

struct FosterPair {
  double r_k_per_w = 0, tau_s = 0;
  friend bool operator==(const FosterPair&, const FosterPair&) = default;
};

struct Switch {
  SwitchKind kind = SwitchKind::mosfet;
  int parallel = 1;
  int on_one_sink = 1;                                            ///< how many share the heatsink
  std::optional<double> rds_on_mohm, rds_on_factor_at_150c;       // MOSFET
  std::optional<double> vce_sat_v, vce_slope_mohm, switching_uj;  // IGBT
  std::optional<double> rise_ns, fall_ns;
  std::vector<FosterPair> foster;
  friend bool operator==(const Switch&, const Switch&) = default;
};

struct Heatsink {
  std::optional<double> case_heat_capacity_j_per_k, case_to_sink_k_per_w, sink_to_ambient_k_per_w,
      sink_heat_capacity_j_per_k;
  double ambient_c = 25.0;
  std::optional<double> start_c;  ///< sink temperature when the song starts; ambient if not given
  std::optional<double>
      case_start_c{};  ///< of the cases then, where a song before has warmed them; the sink's if not given
};

struct Supply {
  std::optional<double> bus_capacitance_uf, current_limit_a;
};

struct Profile {
  std::string name;
  Drive drive;
  Primary primary;
  Secondary secondary;
  std::optional<MeasuredCurrent> measured;
  Limits limits;
  int voices = 3;  ///< how many notes may sound at once, 1 to 16
  Switch switches;
  Heatsink heatsink;
  Supply supply;
  std::string text;  ///< the TOML it was read from, to be carried in .burst files
};

/// Reads a profile. Throws Error (bad_input, with file, line, key, value and what is allowed) for TOML that
/// does not parse, unknown keys, missing limits, wrong types, negative or non-finite values and contradictory
/// limits.
[[nodiscard]] Profile parse_profile(std::string_view text, const std::string& name);
[[nodiscard]] Profile read_profile(const std::string& path);

/// The same coil with other temperatures when the song starts: sink and cases (C). Its text says so too,
/// without comments, unless nothing is different.
[[nodiscard]] Profile started_at(const Profile& profile, double sink_c, double case_c);

/// A commented profile to fill in: what `burstloom coil new` writes. It is refused until each '?' in it
/// has become a value.
[[nodiscard]] std::string profile_to_fill_in();

/// Peak primary current of a burst that the gate driver sees for `on_time_us`, by the measured points scaled
/// to the highest bus; nothing where the profile has no points. Between points linear; below the first point
/// that point's current (the safe side); past the last nothing is known, see
/// `longest_on_time_for_current_us`.
[[nodiscard]] std::optional<double> peak_current_a(const Profile& profile, double on_time_us);

/// The longest on-time (us) for which the profile can tell the peak current and the current stays within its
/// limit; nothing where current is not limited or cannot be told.
[[nodiscard]] std::optional<double> longest_on_time_for_current_us(const Profile& profile);

/// What makes the longest on-time as short as it is.
enum class LongestBurst { on_time_max, peak_current, tank_voltage, switch_voltage };
/// "on-time max", "peak current", "tank capacitor voltage", "switch voltage": as `check` calls the limits.
[[nodiscard]] const char* name_of(LongestBurst bound_by);

/// What a stream may command so that the gate keeps the profile's limits, whatever the clock does within its
/// tolerance and after driver and optics have stretched every burst. Microseconds, not yet whole ticks.
struct CommandLimits {
  double on_time_min_us = 0, on_time_max_us = 0, gap_us = 0;
  LongestBurst bound_by = LongestBurst::on_time_max;
};
[[nodiscard]] CommandLimits command_limits(const Profile& profile);

}  // namespace burstloom
