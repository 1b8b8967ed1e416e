// Every number of a profile at the ends of what it may be, and past them: each command answers or refuses.
// A crash or a hang is the test's own.
#include <fstream>
#include <regex>

#include "burstloom/coil/profile_keys.hpp"
#include "burstloom/common/error.hpp"
#include "support.hpp"

namespace burstloom::testing {
namespace {

// All keys of a coil with MOSFETs; of the other kinds what differs.
const std::string kMosfet = R"(name = "Extremes"
[drive]
bus_v = 36.0
bus_tolerance_percent = 10.0
commutation_delay_ns = 50.0
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
on_time_us = [10.0]
peak_current_a = [18.0]
[limits]
on_time_us = { min = 4.0, max = 50.0 }
gap_us = 100.0
duty = [ { window_ms = 10.0, percent = 20.0 } ]
break_rate_hz = 2500.0
peak_current_a = 60.0
tank_capacitor_v = 1000.0
tank_capacitor_a_rms = 8.0
switch_v = 80.0
junction_c = 110.0
heatsink_c = 70.0
supply_w = 90.0
[sound]
voices = 3
[switch]
parallel = 1
on_one_sink = 2
rds_on_mohm = 40.0
rds_on_factor_at_150c = 2.0
rise_ns = 30.0
fall_ns = 30.0
foster = [ { r_k_per_w = 0.2, tau_s = 0.0002 } ]
[heatsink]
case_heat_capacity_j_per_k = 2.0
case_to_sink_k_per_w = 0.5
sink_to_ambient_k_per_w = 6.0
sink_heat_capacity_j_per_k = 60.0
ambient_c = 25.0
start_c = 25.0
case_start_c = 25.0
[supply]
bus_capacitance_uf = 470.0
current_limit_a = 2.5
)";

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

std::string igbt() {
  return replaced(replaced(kMosfet, "rds_on_mohm = 40.0\nrds_on_factor_at_150c = 2.0\n",
                           "kind = \"igbt\"\nvce_sat_v = 1.0\nvce_slope_mohm = 15.0\nswitching_uj = 300.0\n"),
                  "[drive]\n", "[drive]\nprimary = \"untuned\"\n");
}

std::string current_fed() {
  return replaced(replaced(kMosfet, "[drive]\n", "[drive]\nprimary = \"current-fed\"\n"), "switch_v = 80.0",
                  "switch_v = 1000.0");
}

// The coils that the key is about: what it costs to simulate a current-fed one is spent on its own keys.
std::vector<std::string> coils_for(const std::string& path) {
  std::vector<std::string> coils = {kMosfet};
  if (path.starts_with("drive.") || path.starts_with("switch.") || path.starts_with("primary."))
    coils.push_back(igbt());
  if (path == "drive.feed_inductance_uh" || path.starts_with("primary.")) coils.push_back(current_fed());
  return coils;
}

// The text with the key's number replaced; empty where this coil has no such key.
std::string with(const std::string& text, const std::string& path, const std::string& value) {
  const std::size_t dot = path.find('.');
  const std::string table = path.substr(0, dot), key = path.substr(path.rfind('.') + 1);
  const bool inner = path.find("on_time_us.") != std::string::npos || path.find("[]") != std::string::npos;
  const std::size_t from = text.find("\n[" + table + "]\n") + table.size() + 4,
                    until = std::min(text.find("\n[", from), text.size());
  const std::regex place((inner ? "([{ ,]" : "(\n") + key + " = \\[?)[-0-9.e]+");
  const std::string part = "\n" + text.substr(from, until - from);
  if (!std::regex_search(part, place)) return "";
  const std::string changed =
      std::regex_replace(part, place, "$01" + value, std::regex_constants::format_first_only);
  return text.substr(0, from) + changed.substr(1) + text.substr(until);
}

// A note and a drum.
std::string tiny_song() {
  const std::vector<std::uint8_t> bytes = {
      'M', 'T', 'h',  'd', 0,   0, 0,    6,  0,   0,  0,    1,  0, 96, 'M',  'T', 'r', 'k', 0,    0,    0,
      20,  0,   0x90, 69,  100, 0, 0x99, 36, 100, 48, 0x80, 69, 0, 0,  0x89, 36,  0,   0,   0xFF, 0x2F, 0};
  return {bytes.begin(), bytes.end()};
}

class Extremes : public Command {
 protected:
  void SetUp() override { write("tiny.mid", tiny_song()); }
  void write(const std::string& name, const std::string& text) {
    std::ofstream(folder_ / name, std::ios::binary) << text;
  }

  /// 0 or a refusal in one sentence; 1 is a verdict, 4 would be our own fault.
  void expect_an_answer(const std::vector<std::string>& words, const std::string& what) {
    const Ran ran = run(words);
    EXPECT_TRUE(ran.code == 0 || ran.code == 1 || ran.code == 3)
        << what << ", " << words[0] << ": " << ran.code << " " << ran.err;
    if (ran.code == 3) {
      EXPECT_EQ(std::count(ran.err.begin(), ran.err.end(), '\n'), 1) << ran.err;
    }
    EXPECT_EQ(ran.err.find("unforeseen"), std::string::npos) << what << ": " << ran.err;
    EXPECT_FALSE(std::regex_search(ran.out, std::regex("\\b(nan|inf)\\b"))) << what << ": " << ran.out;
  }

  void go_through(const std::string& profile, const std::string& what) {
    write("coil.toml", profile);
    const std::string coil = folder_ / "coil.toml", out = folder_ / "tiny.burst";
    std::filesystem::remove(out);
    expect_an_answer({"coil", "show", coil}, what);
    expect_an_answer({"weave", folder_ / "tiny.mid", "--coil", coil, "--out", out}, what);
    if (std::filesystem::exists(out)) expect_an_answer({"check", out}, what);
  }
};

struct Ends {
  std::string low, high;
};

Ends ends_of(const std::string& allowed) {
  std::smatch found;
  EXPECT_TRUE(std::regex_search(allowed, found, std::regex("from (-?[0-9.]+)(?: to|, below) ([0-9.]+)")))
      << allowed;
  return {found[1], found[2]};
}

TEST_F(Extremes, TheSamplesThemselvesAreTaken) {
  for (const std::string& text : {kMosfet, igbt(), current_fed()}) {
    write("coil.toml", text);
    const Ran ran = run({"coil", "show", folder_ / "coil.toml"});
    EXPECT_EQ(ran.code, 0) << ran.err;
  }
}

TEST_F(Extremes, EveryNumberAtTheEndsOfItsRange) {
  int seen = 0;
  for (const ProfileKey& key : profile_keys()) {
    if (key.allowed.find("from ") == std::string::npos) continue;
    const Ends ends = ends_of(key.allowed);
    bool is_somewhere = false;
    for (const std::string& text : coils_for(key.path))
      for (const std::string& value : {ends.low, ends.high, std::string("5e-324"), std::string("-0.0")}) {
        const std::string profile = with(text, key.path, value);
        if (profile.empty()) continue;
        is_somewhere = true;
        go_through(profile, key.path + " = " + value);
        ++seen;
      }
    EXPECT_TRUE(is_somewhere) << key.path << " is in none of the samples";
  }
  EXPECT_GT(seen, 250);
}

TEST_F(Extremes, WhatIsNoNumberIsRefusedAsItIsWritten) {
  for (const ProfileKey& key : profile_keys()) {
    if (key.allowed.find("from ") == std::string::npos) continue;
    const std::string text = with(kMosfet, key.path, "nan").empty() ? igbt() : kMosfet;
    for (const std::string value : {"nan", "inf", "-inf", "-1e300"}) {
      write("coil.toml", with(text, key.path, value));
      const Ran ran = run({"coil", "show", folder_ / "coil.toml"});
      EXPECT_EQ(ran.code, 3) << key.path << " = " << value;
      EXPECT_NE(ran.err.find(key.path.substr(key.path.rfind('.') + 1)), std::string::npos) << ran.err;
    }
  }
}

}  // namespace
}  // namespace burstloom::testing
