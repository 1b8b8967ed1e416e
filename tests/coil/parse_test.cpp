// Reading profiles that are right, and the smallest that are.
#include <sstream>

#include "burstloom/coil/profile_keys.hpp"
#include "burstloom/common/error.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

const std::string kSmallest = R"(name = "Bare"
[limits]
on_time_us = { min = 4, max = 50 }
gap_us = 0
duty = [ { window_ms = 10, percent = 20 } ]
)";

TEST(ParseProfile, ReadsEveryTable) {
  const Profile p = parse_profile(kSample, "c.toml");
  EXPECT_EQ(p.name, "Wren");
  EXPECT_EQ(p.drive.bridge, Bridge::half);
  EXPECT_EQ(p.drive.primary, PrimaryKind::series_resonant);
  EXPECT_EQ(p.drive.ring_down, RingDown::diode_return);
  EXPECT_EQ(p.drive.bus_v, 36.0);
  EXPECT_EQ(p.drive.commutation_delay_ns, 50.0);
  EXPECT_EQ(p.primary.capacitance_nf, 8.2);
  EXPECT_EQ(p.secondary.coupling, 0.1);
  ASSERT_TRUE(p.measured.has_value());
  EXPECT_TRUE(p.measured->loaded);
  EXPECT_EQ(p.measured->on_time_us, (std::vector<double>{10, 20, 50}));
  EXPECT_EQ(p.measured->peak_current_a, (std::vector<double>{18, 25, 27}));
  EXPECT_EQ(p.limits.on_time_min_us, 4.0);
  EXPECT_EQ(p.limits.on_time_max_us, 50.0);
  EXPECT_EQ(p.limits.gap_us, 100.0);
  ASSERT_EQ(p.limits.duty.size(), 2U);
  EXPECT_EQ(p.limits.duty[1].window_ms, 1000.0);
  EXPECT_EQ(p.limits.duty[1].percent, 10.0);
  EXPECT_EQ(p.limits.break_rate_hz, 2500.0);
  EXPECT_FALSE(p.limits.switch_v.has_value());
  EXPECT_EQ(p.voices, 3);
  EXPECT_EQ(p.switches.kind, SwitchKind::mosfet);
  EXPECT_EQ(p.switches.on_one_sink, 2);
  ASSERT_EQ(p.switches.foster.size(), 2U);
  EXPECT_EQ(p.switches.foster[1].tau_s, 0.01);
  EXPECT_EQ(p.heatsink.sink_heat_capacity_j_per_k, 60.0);
  EXPECT_EQ(p.supply.current_limit_a, 2.5);
  EXPECT_EQ(p.text, kSample);
}

TEST(ParseProfile, TakesIntegersForNumbersAndDefaultsForTheRest) {
  const Profile p = parse_profile(kSmallest, "c.toml");
  EXPECT_EQ(p.limits.on_time_max_us, 50.0);
  EXPECT_EQ(p.limits.gap_us, 0.0);
  EXPECT_FALSE(p.drive.bus_v.has_value());
  EXPECT_FALSE(p.measured.has_value());
  EXPECT_FALSE(p.limits.peak_current_a.has_value());
  EXPECT_EQ(p.voices, 3);
  EXPECT_EQ(p.drive.bus_tolerance_percent, 10.0);
  EXPECT_EQ(p.drive.clock_tolerance_percent, 0.5);
  EXPECT_EQ(p.heatsink.ambient_c, 25.0);
}

TEST(ParseProfile, DeclaredDefaultsAreTheStructsDefaults) {
  const Profile bare = parse_profile(kSmallest, "c.toml");
  for (const ProfileKey& key : profile_keys()) {
    if (key.fallback.empty() || key.path.ends_with("start_c")) continue;
    const std::string table = key.path.substr(0, key.path.find('.'));
    const std::string name = key.path.substr(key.path.find('.') + 1);
    Profile given =
        parse_profile(kSmallest + "[" + table + "]\n" + name + " = " + key.fallback + "\n", "c.toml");
    EXPECT_EQ(given.drive.bridge, bare.drive.bridge) << key.path;
    EXPECT_EQ(given.drive.primary, bare.drive.primary) << key.path;
    EXPECT_EQ(given.drive.ring_down, bare.drive.ring_down) << key.path;
    EXPECT_EQ(given.drive.bus_tolerance_percent, bare.drive.bus_tolerance_percent) << key.path;
    EXPECT_EQ(given.drive.commutation_delay_ns, bare.drive.commutation_delay_ns) << key.path;
    EXPECT_EQ(given.drive.stops_at_zero, bare.drive.stops_at_zero) << key.path;
    EXPECT_EQ(given.drive.pulse_stretch_ns, bare.drive.pulse_stretch_ns) << key.path;
    EXPECT_EQ(given.drive.clock_tolerance_percent, bare.drive.clock_tolerance_percent) << key.path;
    EXPECT_EQ(given.voices, bare.voices) << key.path;
    EXPECT_EQ(given.switches.kind, bare.switches.kind) << key.path;
    EXPECT_EQ(given.switches.parallel, bare.switches.parallel) << key.path;
    EXPECT_EQ(given.switches.on_one_sink, bare.switches.on_one_sink) << key.path;
    EXPECT_EQ(given.heatsink.ambient_c, bare.heatsink.ambient_c) << key.path;
  }
}

TEST(ParseProfile, OrdersDutyWindows) {
  const Profile p = parse_profile(
      sample_with("{ window_ms = 10.0, percent = 20.0 }", "{ window_ms = 2000.0, percent = 5.0 }"), "c.toml");
  EXPECT_EQ(p.limits.duty[0].window_ms, 1000.0);
  EXPECT_EQ(p.limits.duty[1].window_ms, 2000.0);
}

TEST(ParseProfile, TakesListsWrittenAsHeadersToo) {
  const Profile p = parse_profile(
      "name = \"a\"\nlimits.gap_us = 5\nlimits.on_time_us.min = 1\nlimits.on_time_us.max = 2\n"
      "[[limits.duty]]\nwindow_ms = 10\npercent = 2\n[[limits.duty]]\nwindow_ms = 100\npercent = 1\n",
      "c.toml");
  EXPECT_EQ(p.limits.duty.size(), 2U);
}

TEST(ParseProfile, TakesWindowsLineEnds) {
  std::string text;
  for (const char c : std::string(kSample)) text += c == '\n' ? std::string("\r\n") : std::string(1, c);
  EXPECT_EQ(parse_profile(text, "c.toml").limits.gap_us, 100.0);
}

// As it is with the values that it proposes.
std::string filled_in() {
  std::string text = profile_to_fill_in();
  const auto fill = [&](const std::string& open, const std::string& value) {
    const std::size_t at = text.find(open);
    ASSERT_NE(at, std::string::npos) << open;
    text.replace(at, open.size(), value);
  };
  fill("name = ?", "name = \"My coil\"");
  fill("{ min = ?, max = ? }", "{ min = 2.0, max = 10.0 }");
  fill("gap_us = ?", "gap_us = 400.0");
  fill("percent = ?", "percent = 2.0");
  fill("percent = ?", "percent = 1.0");
  fill("break_rate_hz = ?", "break_rate_hz = 1000.0");
  return text;
}

TEST(ProfileToFillIn, IsNoCoilBeforeItIsFilledIn) {
  std::string text = profile_to_fill_in();
  for (int open = 0; open < 6; ++open) {
    try {
      (void)parse_profile(text, "new.toml");
      FAIL() << open;
    } catch (const Error& error) {
      EXPECT_NE(error.problem().find("still to be given"), std::string::npos) << error.what();
    }
    text.replace(text.find("= ?") + 2, 1, open == 0 ? "\"A\"" : "20.0");
    if (open == 1) text.replace(text.find("max = ?") + 6, 1, "40.0");
  }
  EXPECT_NO_THROW((void)parse_profile(text, "new.toml"));
}

TEST(ProfileToFillIn, IsSafeAsItProposes) {
  const Profile p = parse_profile(filled_in(), "new.toml");
  EXPECT_EQ(p.limits.on_time_max_us, 10.0);
  EXPECT_EQ(p.limits.gap_us, 400.0);
  EXPECT_EQ(p.limits.break_rate_hz, 1000.0);
  for (const DutyLimit& duty : p.limits.duty) EXPECT_LE(duty.percent, 2.0);
  for (const char* proposed : {"{ min = 2.0, max = 10.0 }", "400.0", "2.0 in 10 ms", "1000.0"})
    EXPECT_NE(profile_to_fill_in().find(std::string("to begin with: ") + proposed), std::string::npos);
}

TEST(ProfileToFillIn, TheFewKeysThatMatterStandFirst) {
  std::istringstream lines(profile_to_fill_in());
  std::string line;
  int number = 0, last_open = 0, live = 0;
  while (std::getline(lines, line)) {
    ++number;
    if (line.find("= ?") != std::string::npos || line.find("percent = ?") != std::string::npos)
      last_open = number;
    live += !line.empty() && line[0] != '#' && line[0] != '[' ? 1 : 0;
  }
  EXPECT_EQ(live, 5);
  EXPECT_LE(last_open, 24) << "not on the first screen";
}

// Every comment that holds a key must be a key that parses when the "# " is taken away.
TEST(ProfileToFillIn, ParsesWithEveryKeyOnExceptThoseOfTheOtherSwitch) {
  std::string all_on, line;
  std::istringstream lines(filled_in());
  while (std::getline(lines, line)) {
    const bool igbt = line.starts_with("# vce_") || line.starts_with("# switching_uj");
    const bool key = line.starts_with("# ") && (line.find(" = ") != std::string::npos || line[2] == '[') &&
                     line.find(';') == std::string::npos;
    all_on += (key && !igbt ? line.substr(2) : line) + "\n";
  }
  const Profile p = parse_profile(all_on, "new.toml");
  EXPECT_EQ(p.drive.bus_v, 36.0);
  EXPECT_TRUE(p.measured.has_value());
  EXPECT_EQ(p.supply.current_limit_a, 2.5);
}

TEST(ProfileToFillIn, NamesEveryKey) {
  const std::string text = profile_to_fill_in();
  for (const ProfileKey& key : profile_keys())
    EXPECT_NE(text.find(key.meaning), std::string::npos) << key.path << ": " << key.meaning;
}

}  // namespace
}  // namespace burstloom
