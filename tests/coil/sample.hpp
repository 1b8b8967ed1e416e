// A complete profile that every test here starts from: the sample of the design.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "burstloom/coil/profile.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {

inline const char* const kSample = R"(name = "Wren"
[drive]
bridge   = "half"
primary  = "series-resonant"
bus_v = 36.0
bus_tolerance_percent = 10.0
commutation_delay_ns = 50.0
ring_down = "diode-return"
stops_at_zero = false
pulse_stretch_ns = 0.0
clock_tolerance_percent = 0.5
feed_inductance_uh = 100.0
[primary]
inductance_uh = 2.0
capacitance_nf = 8.2
resistance_ohm = 0.3
[secondary]
inductance_mh = 0.4
resonance_khz = 1243.0
quality_factor = 100.0
coupling = 0.1
streamer_load_kohm = 100.0
[measured]
bus_v = 36.0
loaded = true
on_time_us     = [10, 20, 50]
peak_current_a = [18, 25, 27]
[limits]
on_time_us = { min = 4.0, max = 50.0 }
gap_us = 100.0
duty = [ { window_ms = 10.0, percent = 20.0 },
         { window_ms = 1000.0, percent = 10.0 } ]
break_rate_hz = 2500.0
peak_current_a = 60.0
tank_capacitor_v = 1000.0
junction_c = 110.0
heatsink_c = 70.0
supply_w = 90.0
[sound]
voices = 3
[switch]
kind = "mosfet"
parallel = 1
on_one_sink = 2
rds_on_mohm = 40.0
rds_on_factor_at_150c = 2.0
rise_ns = 30.0
fall_ns = 30.0
foster = [ { r_k_per_w = 0.2, tau_s = 0.0002 }, { r_k_per_w = 0.6, tau_s = 0.01 } ]
[heatsink]
case_heat_capacity_j_per_k = 2.0
case_to_sink_k_per_w = 0.5
sink_to_ambient_k_per_w = 6.0
sink_heat_capacity_j_per_k = 60.0
ambient_c = 25.0
start_c = 25.0
[supply]
bus_capacitance_uf = 470.0
current_limit_a = 2.5
)";

/// The sample with the first `old_text` replaced; fails the test when it is not there.
inline std::string sample_with(const std::string& old_text, const std::string& new_text) {
  std::string text = kSample;
  const std::size_t at = text.find(old_text);
  EXPECT_NE(at, std::string::npos) << "the sample has no " << old_text;
  if (at != std::string::npos) text.replace(at, old_text.size(), new_text);
  return text;
}

/// The refusal of `text`, read as file "c.toml"; fails the test when it is accepted.
inline Error refusal_of(const std::string& text) {
  try {
    (void)parse_profile(text, "c.toml");
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::bad_input);
    return error;
  }
  ADD_FAILURE() << "accepted:\n" << text;
  return bad_input("accepted", "", "");
}

}  // namespace burstloom
