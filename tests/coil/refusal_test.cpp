// Profiles that are wrong: each is refused with file and line, the key, what was found and what is allowed.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <random>
#include <sstream>

#include "../../src/coil/suggest.hpp"
#include "burstloom/coil/profile_keys.hpp"
#include "burstloom/guard/guard.hpp"
#include "sample.hpp"

namespace burstloom {
namespace {

struct Wrong {
  const char* what;
  std::string old_text, new_text;
  std::string at;                 // the line of the refusal has this text; empty: where the change is
  std::vector<std::string> says;  // all of these stand in the sentence
};

void PrintTo(const Wrong& wrong, std::ostream* out) {
  *out << wrong.what;
}

long line_of(const Wrong& wrong) {
  const std::string text = sample_with(wrong.old_text, wrong.new_text);
  const std::size_t at = wrong.at.empty() ? std::string(kSample).find(wrong.old_text) : text.find(wrong.at);
  EXPECT_NE(at, std::string::npos);
  return 1 + std::count(text.begin(), text.begin() + static_cast<long>(at), '\n');
}

class Refused : public testing::TestWithParam<Wrong> {};

TEST_P(Refused, NamesPlaceAndCause) {
  const Wrong& wrong = GetParam();
  const Error error = refusal_of(sample_with(wrong.old_text, wrong.new_text));
  EXPECT_EQ(error.where(), "c.toml, line " + std::to_string(line_of(wrong))) << error.what();
  for (const std::string& word : wrong.says)
    EXPECT_NE(std::string(error.what()).find(word), std::string::npos)
        << "no '" << word << "' in: " << error.what();
}

INSTANTIATE_TEST_SUITE_P(
    Keys, Refused,
    testing::Values(
        Wrong{"misspelt", "bus_v = 36.0", "buss_v = 36.0", "", {"drive.buss_v", "did you mean bus_v"}},
        Wrong{"swapped", "gap_us", "gpa_us", "", {"did you mean gap_us"}},
        Wrong{"in another table",
              "name = \"Wren\"",
              "name = \"Wren\"\ngap_us = 3",
              "gap_us = 3",
              {"did you mean limits.gap_us"}},
        Wrong{"unknown table", "[sound]", "[colour]", "", {"colour"}},
        Wrong{"misspelt table", "[heatsink]", "[heatsnik]", "", {"did you mean heatsink"}},
        Wrong{"unknown in an entry",
              "{ window_ms = 10.0,",
              "{ window_us = 10.0,",
              "",
              {"limits.duty[1].window_us", "did you mean window_ms"}},
        Wrong{"dotted name in quotes",
              "gap_us = 100.0",
              "gap_us = 100.0\n\"on_time_us.min\" = 3",
              "\"on_time_us.min",
              {"on_time_us.min"}},
        Wrong{"no name", "name = \"Wren\"", "", "", {"name is missing"}},
        Wrong{"empty name", "\"Wren\"", "\"\"", "", {"name is \"\"", "80"}},
        Wrong{"control character", "\"Wren\"", "\"Wr\\u0007en\"", "", {"name is \"Wr?en\""}},
        Wrong{"no gap", "gap_us = 100.0", "", "[limits]", {"limits.gap_us is missing", "us"}},
        Wrong{"no min", "min = 4.0, ", "", "", {"limits.on_time_us.min is missing"}},
        Wrong{"no on-times",
              "on_time_us = { min = 4.0, max = 50.0 }",
              "",
              "[limits]",
              {"limits.on_time_us is missing"}},
        Wrong{"no percent",
              "window_ms = 10.0, percent = 20.0",
              "window_ms = 10.0",
              "",
              {"limits.duty[1].percent"}},
        Wrong{"no bus for points",
              "bus_v = 36.0\nloaded",
              "loaded",
              "[measured]",
              {"measured.bus_v is missing"}},
        Wrong{"no state of points", "loaded = true", "", "[measured]", {"measured.loaded is missing"}}));

INSTANTIATE_TEST_SUITE_P(
    Values, Refused,
    testing::Values(
        Wrong{"text for a number",
              "bus_v = 36.0",
              "bus_v = \"36 V\"",
              "",
              {"drive.bus_v is \"36 V\"", "from 1 to 10000"}},
        Wrong{"flag for a number", "gap_us = 100.0", "gap_us = true", "", {"limits.gap_us is true"}},
        Wrong{"number for a flag",
              "stops_at_zero = false",
              "stops_at_zero = 0",
              "",
              {"stops_at_zero is 0", "true or false"}},
        Wrong{"number for text", "\"Wren\"", "7", "", {"name is 7"}},
        Wrong{"date for a number", "bus_v = 36.0", "bus_v = 2020-01-01", "", {"2020-01-01"}},
        Wrong{
            "table for a number", "gap_us = 100.0", "gap_us = { us = 1 }", "", {"limits.gap_us is a table"}},
        Wrong{"number for a table",
              "on_time_us = { min = 4.0, max = 50.0 }",
              "on_time_us = 50",
              "",
              {"limits.on_time_us is 50"}},
        Wrong{"number for a list",
              "foster = [ { r_k_per_w = 0.2, tau_s = 0.0002 }, { r_k_per_w = 0.6, tau_s = 0.01 } ]",
              "foster = 0.2",
              "",
              {"switch.foster is 0.2"}},
        Wrong{"number in a list",
              "{ r_k_per_w = 0.2, tau_s = 0.0002 }",
              "0.2",
              "",
              {"switch.foster[1] is 0.2"}},
        Wrong{"number for an array", "[10, 20, 50]", "10", "", {"measured.on_time_us is 10"}},
        Wrong{
            "text in an array", "[10, 20, 50]", "[10, \"20\", 50]", "", {"measured.on_time_us[2] is \"20\""}},
        Wrong{"negative", "gap_us = 100.0", "gap_us = -1", "", {"limits.gap_us is -1", "from 0"}},
        Wrong{"infinite", "gap_us = 100.0", "gap_us = inf", "", {"limits.gap_us is inf"}},
        Wrong{"minus infinite", "gap_us = 100.0", "gap_us = -inf", "", {"limits.gap_us is -inf"}},
        Wrong{"no number", "max = 50.0", "max = nan", "", {"limits.on_time_us.max is nan"}},
        Wrong{"no number in an array",
              "[18, 25, 27]",
              "[18, nan, 27]",
              "",
              {"measured.peak_current_a[2] is nan"}},
        Wrong{"zero on-time", "min = 4.0", "min = 0", "", {"limits.on_time_us.min is 0", "from 0.001"}},
        Wrong{"zero bus", "bus_v = 36.0", "bus_v = 0.0", "", {"drive.bus_v is 0"}},
        Wrong{"percent over 100",
              "percent = 20.0",
              "percent = 100.5",
              "",
              {"limits.duty[1].percent is 100.5", "to 100"}},
        Wrong{"zero percent",
              "window_ms = 1000.0, percent = 10.0",
              "window_ms = 1000.0, percent = 0",
              "",
              {"limits.duty[2].percent is 0", "from 0.001"}},
        Wrong{"no duty",
              "[ { window_ms = 10.0, percent = 20.0 },\n         { window_ms = 1000.0, percent = 10.0 } ]",
              "[]",
              "",
              {"limits.duty has 0 entries", "1 to 16"}},
        Wrong{
            "no voice", "voices = 3", "voices = 0", "", {"sound.voices is 0", "a whole number from 1 to 16"}},
        Wrong{"many voices", "voices = 3", "voices = 17", "", {"sound.voices is 17"}},
        Wrong{"half a voice", "voices = 3", "voices = 2.5", "", {"sound.voices is 2.5"}},
        Wrong{
            "coupling of one", "coupling = 0.1", "coupling = 1", "", {"secondary.coupling is 1", "below 1"}},
        Wrong{"huge", "bus_v = 36.0", "bus_v = 1e300", "", {"drive.bus_v is 1e+300", "10000"}},
        Wrong{"huge whole",
              "voices = 3",
              "voices = 9223372036854775807",
              "",
              {"sound.voices is 9223372036854775807"}},
        Wrong{"rate of no burst", "break_rate_hz = 2500.0", "break_rate_hz = 9", "", {"from 10"}},
        Wrong{"unknown word",
              "bridge   = \"half\"",
              "bridge = \"third\"",
              "",
              {"\"third\"", "\"half\", \"full\" or \"push-pull\""}},
        Wrong{"word in capitals",
              "kind = \"mosfet\"",
              "kind = \"MOSFET\"",
              "",
              {"\"MOSFET\"", "did you mean mosfet?"}}));

INSTANTIATE_TEST_SUITE_P(
    Contradictions, Refused,
    testing::Values(
        Wrong{"min above max", "min = 4.0", "min = 60", "", {"limits.on_time_us.min is 60 µs", "50 µs"}},
        Wrong{"stretch of a whole burst",
              "pulse_stretch_ns = 0.0",
              "pulse_stretch_ns = 50e3",
              "",
              {"50000", "50 µs"}},
        Wrong{
            "one length and a clock that drifts",
            "min = 4.0, max = 50.0",
            "min = 50, max = 50",
            "",
            {"leaves no burst", "clock_tolerance_percent 0.5", "at least 50.25", "at most 49.75", "for max"}},
        Wrong{"window without room",
              "percent = 20.0",
              "percent = 0.03",
              "",
              {"allows 3 µs in any 10 ms", "4 µs"}},
        Wrong{"window twice", "window_ms = 1000.0", "window_ms = 10", "", {"10 ms twice", "entries 1 and 2"}},
        Wrong{"arrays unlike", "[18, 25, 27]", "[18, 25]", "", {"3 numbers", "has 2"}},
        Wrong{"no points", "[10, 20, 50]", "[]", "", {"measured.on_time_us has 0 entries"}},
        Wrong{"points not rising", "[10, 20, 50]", "[10, 50, 20]", "", {"20 follows 50"}},
        Wrong{"points repeated", "[10, 20, 50]", "[10, 10, 20]", "", {"10 follows 10"}},
        Wrong{"points without a bus",
              "bus_v = 36.0\nbus_tolerance",
              "bus_tolerance",
              "bus_v = 36.0\nloaded",
              {"drive.bus_v is missing"}},
        Wrong{"current never held",
              "peak_current_a = 60.0",
              "peak_current_a = 19",
              "",
              {"is 19 A", "4 µs", "the model and [measured]"}},
        Wrong{"igbt keys on a mosfet", "parallel = 1", "vce_sat_v = 1.2", "", {"vce_sat_v", "\"mosfet\""}},
        Wrong{"mosfet keys on an igbt",
              "kind = \"mosfet\"",
              "kind = \"igbt\"",
              "rds_on_mohm",
              {"rds_on_mohm", "\"igbt\""}},
        Wrong{"warm air",
              "ambient_c = 25.0",
              "ambient_c = 70",
              "heatsink_c",
              {"heatsink_c is 70", "ambient_c"}},
        Wrong{"warm start",
              "start_c = 25.0",
              "start_c = 111",
              "junction_c",
              {"junction_c is 110", "start_c", "111"}}));

INSTANTIATE_TEST_SUITE_P(
    Toml, Refused,
    testing::Values(
        Wrong{"cut off", "bus_v = 36.0", "bus_v = ", "", {"not valid TOML"}},
        Wrong{"key twice", "bus_v = 36.0", "bus_v = 36.0\nbus_v = 37.0", "bus_v = 37", {"not valid TOML"}},
        Wrong{"broken text", "\"Wren\"", "\"\xFF\xFE\"", "", {"not valid TOML"}}));

std::string with_windows(std::size_t count) {
  std::string list;
  for (std::size_t i = 0; i < count; ++i)
    list += "{ window_ms = " + std::to_string(10 + i) + ", percent = 20.0 },\n";
  return sample_with("{ window_ms = 10.0, percent = 20.0 },", list);
}

TEST(RefusedProfiles, MoreDutyWindowsThanTheLedgerCanName) {
  EXPECT_EQ(parse_profile(with_windows(kMostDutyWindows - 1), "c.toml").limits.duty.size(), kMostDutyWindows);
  EXPECT_NE(std::string(refusal_of(with_windows(kMostDutyWindows)).what()).find("has 17 entries"),
            std::string::npos);
}

TEST(RefusedProfiles, CurrentFedWithoutChoke) {
  std::string text = sample_with("\"series-resonant\"", "\"current-fed\"");
  EXPECT_NO_THROW((void)parse_profile(text, "c.toml"));
  text.erase(text.find("feed_inductance_uh"), std::string("feed_inductance_uh = 100.0\n").size());
  const Error error = refusal_of(text);
  EXPECT_EQ(error.where(), "c.toml, line 4");
  EXPECT_NE(std::string(error.what()).find("feed_inductance_uh is missing"), std::string::npos);
}

// Without the primary's inductance there is no model, and the points stand alone.
std::string sample_without_model(const std::string& old_text, const std::string& new_text) {
  std::string text = sample_with(old_text, new_text);
  text.erase(text.find("inductance_uh = 2.0\n"), std::string("inductance_uh = 2.0\n").size());
  return text;
}

TEST(RefusedProfiles, PointsThatEndBeforeTheShortestBurst) {
  const Error error = refusal_of(sample_without_model("[10, 20, 50]", "[1, 2, 3]"));
  EXPECT_NE(std::string(error.what()).find("ends at 3 µs, before limits.on_time_us.min, which is 4 µs"),
            std::string::npos)
      << error.what();
}

TEST(RefusedProfiles, CurrentNeverHeldByThePointsAlone) {
  const Error error = refusal_of(sample_without_model("peak_current_a = 60.0", "peak_current_a = 19"));
  EXPECT_NE(std::string(error.what()).find("by [measured], at the highest bus"), std::string::npos)
      << error.what();
  EXPECT_NE(std::string(error.what()).find("19.8 A"), std::string::npos) << error.what();
}

TEST(RefusedProfiles, CurrentThatTheShortestCommandMayPass) {
  // 19.8 A up to 10 us, so that the current allows 10 us and the clock of 0.5 % no command of 10 us.
  std::string text = sample_without_model("min = 4.0", "min = 10");
  text.replace(text.find("peak_current_a = 60.0"), std::string("peak_current_a = 60.0").size(),
               "peak_current_a = 19.8001");
  const Error error = refusal_of(text);
  EXPECT_NE(std::string(error.what()).find("for limits.peak_current_a"), std::string::npos) << error.what();
}

// The value as it was written, not what became of it, and the range.
TEST(RefusedProfiles, ValuesAsTheyWereWritten) {
  const auto sentence = [](const std::string& from, const std::string& to) {
    return std::string(refusal_of(sample_with(from, to)).what());
  };
  EXPECT_EQ(
      sentence("tau_s = 0.0002", "tau_s = 1e-310"),
      "c.toml, line 49: switch.foster[1].tau_s is 1e-310; give a number from 0.000001 to 100000 (in s).");
  EXPECT_NE(sentence("tau_s = 0.0002", "tau_s = 0.00000021").find("tau_s is 0.00000021;"), std::string::npos);
  EXPECT_NE(sentence("percent = 20.0", "percent = 100.1").find("percent is 100.1;"), std::string::npos);
  EXPECT_NE(sentence("bus_v = 36.0", "bus_v = -0.0").find("bus_v is -0;"), std::string::npos);
}

TEST(RefusedProfiles, EmptyAndLargeFiles) {
  EXPECT_EQ(refusal_of("").where(), "c.toml");
  EXPECT_NE(std::string(refusal_of(std::string((1 << 20) + 1, '#')).what()).find("1048577 bytes"),
            std::string::npos);
  EXPECT_NO_THROW(
      (void)parse_profile(kSample + std::string((1 << 20) - std::string(kSample).size(), '#'), "c.toml"));
}

TEST(RefusedProfiles, MissingFile) {
  EXPECT_THROW((void)read_profile("/nonexistent/coil.toml"), Error);
  EXPECT_THROW((void)read_profile("/"), Error);
}

TEST(RefusedProfiles, DeepNesting) {
  const auto repeated = [](const std::string& text, int times) {
    std::string all;
    for (int i = 0; i < times; ++i) all += text;
    return all;
  };
  EXPECT_EQ(refusal_of(repeated("\n", 9) + repeated("a.", 400'000) + "a = 1").where(), "c.toml, line 10");
  (void)refusal_of("[" + repeated("a.", 400'000) + "a]");
  (void)refusal_of("\"\"\"a\"\"\"\n" + repeated("\"a\" . ", 100'000) + "a = 1");
  (void)refusal_of("a = " + repeated("[", 500'000));
  (void)refusal_of("a = " + repeated("{a=", 300'000));
  (void)refusal_of("a = " + repeated("[{a.a.a.a.a.a.a=", 60'000));
  (void)refusal_of("a = ''' ' '''\n" + repeated("a.", 400'000) + "a = 1");
  // Two more quotes may stand right before the three that close (TOML 1.0, "String"): they open nothing.
  for (const std::string quotes : {"\"\"\"", "\'\'\'"})
    for (const std::size_t more : {1, 2})
      (void)refusal_of("a = [ " + quotes + "x" + quotes + quotes.substr(0, more) + ", {" +
                       repeated("a.", 450'000) + "a = 1} ]");
  const std::string open_brackets = refusal_of("a = 1\nb = " + repeated("[\n", 17)).what();
  EXPECT_NE(open_brackets.find("line 18: more than 16"), std::string::npos) << open_brackets;
  EXPECT_NE(open_brackets.find("opened in line 2"), std::string::npos) << open_brackets;
  EXPECT_NO_THROW(
      (void)parse_profile("# ............\n" + sample_with("Wren", "W.r.e.n.s.a.r.e.s.m.a.l.l"), "c.toml"));
}

TEST(Suggestions, NothingIsNearWhatIsFarOff) {
  EXPECT_EQ(nearest_key("limits", "something_else"), "");
  EXPECT_EQ(nearest_key("limits", std::string(100'000, 'a')), "");
}

RC_GTEST_PROP(Suggestions, AnyKeyWithOneLetterLostIsFound, ()) {
  const auto keys = profile_keys();
  const auto& key = keys[*rc::gen::inRange<std::size_t>(0, keys.size())];
  const std::size_t dot = key.path.rfind('.');
  const std::string parent = dot == std::string::npos ? "" : key.path.substr(0, dot);
  std::string name = key.path.substr(dot == std::string::npos ? 0 : dot + 1);
  RC_PRE(name.size() > 4);
  name.erase(*rc::gen::inRange<std::size_t>(0, name.size()), 1);
  RC_ASSERT(!nearest_key(parent, name).empty());
}

// Mutants either parse to a profile that keeps the promises of its reader or are refused in one sentence.
std::string mutant_of(std::string text, std::mt19937& random) {
  static const std::vector<std::string> pieces = {"nan", "inf",  "-",   "1e999",      "[",  "]", "{",
                                                  "}",   "\"",   "'''", "\n",         ".",  "=", "0",
                                                  "#",   "\xFF", "[[",  "1979-05-27", "0x", ","};
  const int changes = 1 + static_cast<int>(random() % 4);
  for (int i = 0; i < changes && !text.empty(); ++i) {
    const std::size_t at = random() % text.size();
    switch (random() % 6) {
      case 0:
        text[at] = static_cast<char>(random());
        break;
      case 1:
        text.erase(at, 1 + random() % 12);
        break;
      case 2:
        text.insert(at, pieces[random() % pieces.size()]);
        break;
      case 3:
        text.insert(at, text.substr(random() % text.size(), random() % 40));
        break;
      case 4:
        text[at] = static_cast<char>('0' + random() % 10);
        break;
      default:
        if (random() % 8 == 0) text.resize(at);
    }
  }
  return text;
}

void require_sound(const Profile& p) {
  ASSERT_FALSE(p.name.empty());
  ASSERT_TRUE(p.limits.on_time_min_us > 0 && p.limits.on_time_min_us <= p.limits.on_time_max_us);
  ASSERT_TRUE(p.limits.gap_us >= 0 && p.limits.gap_us <= 1e7);
  ASSERT_TRUE(!p.limits.duty.empty() && p.limits.duty.size() <= kMostDutyWindows);
  for (const DutyLimit& duty : p.limits.duty)
    ASSERT_TRUE(duty.percent > 0 && duty.percent <= 100 &&
                duty.window_ms * duty.percent * 10 >= p.limits.on_time_min_us);
  ASSERT_TRUE(p.voices >= 1 && p.voices <= 16);
}

TEST(RefusedProfiles, ThreeThousandMutants) {
  std::mt19937 random(20);
  int refused = 0;
  for (int i = 0; i < 3000; ++i) {
    const std::string text = mutant_of(kSample, random);
    SCOPED_TRACE("mutant " + std::to_string(i));
    try {
      require_sound(parse_profile(text, "c.toml"));
    } catch (const Error& error) {
      ++refused;
      ASSERT_EQ(error.fault(), Fault::bad_input);
      ASSERT_EQ(error.where().rfind("c.toml, line ", 0), 0U) << error.what();
      ASSERT_EQ(std::string(error.what()).find('\n'), std::string::npos) << error.what();
    }
  }
  EXPECT_GT(refused, 1000);
  EXPECT_LT(refused, 3000);
}

}  // namespace
}  // namespace burstloom
