// What IEEE 1364-2005 clause 18 says of value change dumps, and what captures make of them.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/stream/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;

const std::vector<std::int64_t> kExactRates{1000,       1024,       1'000'000,  2'000'000,
                                            16'000'000, 62'500'000, 100'000'000};

std::string head(const std::string& timescale) {
  return "$timescale " + timescale +
         " $end\n$scope module top $end\n$var wire 1 ! gate $end\n$upscope $end\n"
         "$enddefinitions $end\n";
}

Capture read(const std::string& text, const CaptureOptions& options = {}) {
  return from_vcd(text, "c.vcd", options);
}

void expect_refused(const std::string& part, const std::string& text) {
  expect_error(Fault::bad_input, part, [&] { (void)read(text); });
}

// ---- writing

TEST(VcdWrite, OneWireAtTheCoarsestExactTimescale) {
  EXPECT_EQ(to_vcd({2'000'000, 30, {{2, 4}, {20, 1}}}),
            "$version Burstloom $end\n"
            "$comment Burstloom exact gate, tick_hz=2000000, length=30 $end\n"
            "$timescale 100 ns $end\n"
            "$scope module top $end\n"
            "$var wire 1 ! gate $end\n"
            "$upscope $end\n"
            "$enddefinitions $end\n"
            "#0\n$dumpvars 0! $end\n#10\n1!\n#30\n0!\n#100\n1!\n#105\n0!\n#150\n");
}

TEST(VcdWrite, TimescalesOfManyRates) {
  const std::vector<std::pair<std::int64_t, std::string>> scales{
      {1000, "1 ms"},         {10'000, "100 us"}, {100'000, "10 us"},     {500'000, "1 us"},
      {1'000'000, "1 us"},    {1024, "100 ps"},   {16'000'000, "100 ps"}, {15'625, "1 us"},
      {100'000'000, "10 ns"}, {8'000'000, "1 ns"}};
  for (const auto& [rate, scale] : scales)
    EXPECT_NE(to_vcd({rate, 1, {}}).find("$timescale " + scale + " $end"), std::string::npos) << rate;
}

TEST(VcdWrite, TicksThatNoTimescaleHoldsAreRefused) {
  for (const std::int64_t rate : {44'100, 3'000'000, 99'999'999})
    expect_error(Fault::usage, "no whole number of femtoseconds", [&] { (void)to_vcd({rate, 0, {}}); });
  expect_error(Fault::usage, "too long", [] { (void)to_vcd({1024, kEndOfTime - 1, {}}); });
}

RC_GTEST_PROP(VcdWrite, WhatIsWrittenIsReadToTheTick, ()) {
  const BurstStream stream = test::random_stream(kExactRates, 0, Tick{1} << 28);
  const Capture capture = read(to_vcd(stream));
  RC_ASSERT(capture.exact);
  RC_ASSERT(capture.stream == stream);
  RC_ASSERT(!capture.starts_high && !capture.ends_high);
  RC_ASSERT(capture.short_highs == 0 && capture.short_lows == 0);
}

TEST(VcdWrite, AMarkThatTheEdgesContradictIsNoMark) {
  std::string text = to_vcd({2'000'000, 300, {{20, 40}, {200, 10}}});
  EXPECT_TRUE(read(text).exact);
  EXPECT_FALSE(read(text + "#1501\n").exact) << "longer than the mark says";
  EXPECT_FALSE(read(text, {"", true}).exact) << "upside down";
  std::string moved = text;
  moved.replace(moved.find("#100\n"), 5, "#101\n");
  const Capture capture = read(moved);
  EXPECT_FALSE(capture.exact);
  EXPECT_EQ(capture.stream, (BurstStream{10'000'000, 1500, {{101, 199}, {1000, 50}}}));
}

// ---- captures

TEST(VcdRead, AWrittenFileOfAnotherProgramIsACapture) {
  const Capture capture = read(head("1us") + "#0 $dumpvars 0! $end #100 1! #140 0! #500");
  EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 500, {{100, 40}}}));
  EXPECT_FALSE(capture.exact || capture.starts_high || capture.ends_high);
  EXPECT_DOUBLE_EQ(capture.sample_us, 1.0);
}

TEST(VcdRead, TheTickFollowsTheTimescale) {
  const auto at = [](const std::string& scale) {
    return read(head(scale) + "#0\n0!\n#1000000\n1!\n#3000000\n0!\n");
  };
  const std::vector<std::tuple<std::string, std::int64_t, double, Burst>> wanted{
      {"1 ms", 1000, 1000.0, {1'000'000, 2'000'000}},
      {"100 us", 10'000, 100.0, {1'000'000, 2'000'000}},
      {"10 ns", 100'000'000, 0.01, {1'000'000, 2'000'000}},
      {"1 ns", 100'000'000, 0.01, {100'000, 200'000}},
      {"100ps", 100'000'000, 0.01, {10'000, 20'000}}};
  for (const auto& [scale, rate, sample_us, burst] : wanted) {
    const Capture capture = at(scale);
    EXPECT_EQ(capture.stream.tick_hz, rate) << scale;
    EXPECT_DOUBLE_EQ(capture.sample_us, sample_us) << scale;
    EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{burst})) << scale;
  }
  expect_refused("coarser than 1 ms", head("10 ms") + "#0 0! #1");
}

TEST(VcdRead, FinerTimesAreRoundedOutwards) {
  const Capture capture = read(head("1 ns") + "#0 0! #10009 1! #20001 0! #30000 1! #50000 0! #50001");
  EXPECT_EQ(capture.stream, (BurstStream{100'000'000, 5001, {{1000, 1001}, {3000, 2000}}}));
}

RC_GTEST_PROP(VcdRead, RoundingNeverShortensABurst, ()) {
  const auto rise = *rc::gen::inRange<std::int64_t>(1, 1'000'000'000),
             on = *rc::gen::inRange<std::int64_t>(1, 1'000'000);
  const Capture capture = read(head("1 ps") + "#0 0! #" + std::to_string(rise) + " 1! #" +
                               std::to_string(rise + on) + " 0! #" + std::to_string(rise + on + 1));
  RC_ASSERT(capture.stream.bursts.size() == 1u);
  const Burst burst = capture.stream.bursts[0];
  RC_ASSERT(burst.start * 10'000 <= rise && rise < (burst.start + 1) * 10'000);
  RC_ASSERT(burst.end() * 10'000 >= rise + on && rise + on > (burst.end() - 1) * 10'000);
}

TEST(VcdRead, StuckHighIsOneBurstOverAll) {
  for (const char* values :
       {"#0 $dumpvars 1! $end #5000", "$dumpvars 1! $end #0 #5000", "#0 1! #7 1! #5000"}) {
    const Capture capture = read(head("1 us") + values);
    EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 5000, {{0, 5000}}})) << values;
    EXPECT_TRUE(capture.starts_high && capture.ends_high) << values;
  }
}

TEST(VcdRead, HighAtTheStartAndHighAtTheEndAreFlagged) {
  const Capture start = read(head("1 us") + "#100 1! #150 0! #500");
  EXPECT_EQ(start.stream, (BurstStream{1'000'000, 500, {{100, 50}}}));
  EXPECT_TRUE(start.starts_high);
  EXPECT_FALSE(start.ends_high);
  const Capture end = read(head("1 us") + "#0 0! #150 1! #500");
  EXPECT_EQ(end.stream, (BurstStream{1'000'000, 500, {{150, 350}}}));
  EXPECT_FALSE(end.starts_high);
  EXPECT_TRUE(end.ends_high);
}

TEST(VcdRead, ARiseAtTheVeryEndIsNoSilence) {
  const Capture capture = read(head("1 us") + "#0 0! #500 1!");
  EXPECT_EQ(capture.stream, (BurstStream{1'000'000, 501, {{500, 1}}}));
  EXPECT_TRUE(capture.ends_high);
}

TEST(VcdRead, AnInvertedWire) {
  const std::string text = head("1 us") + "#0 1! #100 0! #140 1! #500";
  EXPECT_EQ(read(text, {"", true}).stream, (BurstStream{1'000'000, 500, {{100, 40}}}));
  EXPECT_EQ(read(text).stream, (BurstStream{1'000'000, 500, {{0, 100}, {140, 360}}}));
  EXPECT_TRUE(read(text).starts_high);
  const Capture stuck = read(head("1 us") + "#0 0! #500", {"", true});
  EXPECT_EQ(stuck.stream.bursts, (std::vector<Burst>{{0, 500}})) << "stuck low is stuck on when inverted";
}

TEST(VcdRead, ShortHighsStayAndShortLowsJoin) {
  // A pulse of 0.9 us, one of exactly 1 us; a dip of 0.9 us, one of exactly 1 us.
  const Capture capture = read(head("100 ns") +
                               "#0 0! #100 1! #109 0! #200 1! #210 0! #300 1! #350 0! #359 1! #400 0! "
                               "#410 1! #450 0! #500");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{100, 9}, {200, 10}, {300, 100}, {410, 40}}));
  EXPECT_EQ(capture.short_highs, 1);
  EXPECT_EQ(capture.short_lows, 1);
}

TEST(VcdRead, RingingIsOneBurst) {
  const Capture capture =
      read(head("1 ns") +
           "#0 0! #10000 1! #10200 0! #10300 1! #10350 0! #10400 1! #60000 0! #60100 1! #60200 0! #90000");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{1000, 5020}}));
  EXPECT_EQ(capture.short_lows, 3);
  EXPECT_EQ(capture.short_highs, 0);
}

TEST(VcdRead, APulseWithinOneUnitOfTimeCounts) {
  const Capture capture = read(head("1 us") + "#0 0! #100 1! 0! #500");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{100, 1}}));
  const Capture dip = read(head("1 us") + "#0 0! #100 1! #120 0! 1! #150 0! #500");
  EXPECT_EQ(dip.stream.bursts, (std::vector<Burst>{{100, 50}}));
  EXPECT_EQ(dip.short_lows, 1);
}

TEST(VcdRead, UnknownLevelsCountAsHigh) {
  const Capture capture =
      read(head("1 us") +
           "#0 $dumpvars x! $end #10 0! #100 z! #150 0! #200 $dumpoff x! $end #250 $dumpon 0! $end #500");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{0, 10}, {100, 50}, {200, 50}}));
  EXPECT_EQ(capture.unknown_levels, 3);
  EXPECT_TRUE(capture.starts_high);
  const Capture inverted = read(head("1 us") + "#0 1! #100 X! #150 1! #500", {"", true});
  EXPECT_EQ(inverted.stream.bursts, (std::vector<Burst>{{100, 50}})) << "unknown is high, inverted or not";
}

TEST(VcdRead, UnknownForNoTimeIsNoBurst) {
  const Capture capture =
      read(head("1 us") + "#0 $dumpvars x! $end 0! #100 1! #120 0! #500 $dumpoff x! $end");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{100, 20}}));
  EXPECT_EQ(capture.unknown_levels, 0);
}

TEST(VcdRead, AMissingFirstValueIsUnknown) {
  const Capture capture = read(head("1 us") + "#0 #10 0! #500");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{0, 10}}));
  EXPECT_EQ(capture.unknown_levels, 1);
}

TEST(VcdRead, NothingToSeeIsNoSilence) {
  expect_refused("never gets a value", head("1 us") + "#0 #500");
  expect_refused("never gets a value", head("1 us") + "#0 1\" #500");
  expect_refused("lasts no time at all", head("1 us") + "#0 0!");
  expect_refused("lasts no time at all", head("1 us") + "0!");
  expect_refused("never gets a value", head("1 us"));
}

// ---- several wires

const char* const kManyWires = R"(
$date today $end
$version bench rig of our own $end
$comment wires of many kinds, with $var and #5 in the text $end
$timescale
  1 us
$end
$scope module top $end
$var wire 1 ! clock $end
$var reg 8 " bus [7:0] $end
$var real 64 # volts $end
$var wire 1 ga gate $end
$scope module dut $end
$var wire 1 % arm $end
$var wire 1 & bits [3] $end
$var wire 1 ga driver_in $end
$upscope $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
0! b0000zx10 " r1.5e-3 # 0ga 1% x&
$end
#10 1! 1ga b1 "
$comment between 0ga values $end
#15 r-2 #
#30 0ga 0!
$dumpall 0! 0ga 1% 0& b0 " r0 # $end
#60 b1 ga
#70 b0 ga
#100
)";

TEST(VcdRead, TheGateAmongManyWires) {
  const std::vector<Burst> gate{{10, 20}, {60, 10}};
  for (const char* wire : {"", "gate", "top.gate", "driver_in", "dut.driver_in", "top.dut.driver_in"})
    EXPECT_EQ(read(kManyWires, {wire, false}).stream.bursts, gate) << wire;
  EXPECT_EQ(read(kManyWires, {"clock", false}).stream.bursts, (std::vector<Burst>{{10, 20}}));
  EXPECT_EQ(read(kManyWires, {"arm", false}).stream.bursts, (std::vector<Burst>{{0, 100}}));
  for (const char* wire : {"bits[3]", "dut.bits[3]", "bits"})
    EXPECT_EQ(read(kManyWires, {wire, false}).stream.bursts, (std::vector<Burst>{{0, 30}})) << wire;
}

TEST(VcdRead, WiresThatAreNotThereAreAnsweredWithThoseThatAre) {
  const auto refused = [](const std::string& part, const std::string& wire) {
    expect_error(Fault::usage, part, [&] { (void)read(kManyWires, {wire, false}); });
  };
  refused(
      "c.vcd: there is no wire called 'spark'; choose one by --wire: top.clock, top.gate, top.dut.arm, "
      "top.dut.bits[3]",
      "spark");
  refused("there is no wire called 'other.gate'", "other.gate");
  refused("there is no wire called 'ate'", "ate");
  refused("the wire 'bus' is not one bit wide", "bus");
  refused("the wire 'volts' is not one bit wide", "volts");
}

std::string two_wires(const std::string& first, const std::string& second) {
  return "$timescale 1us $end $scope module a $end $var wire 1 ! " + first +
         " $end $upscope $end $scope module b $end "
         "$var wire 1 @ " +
         second + " $end $upscope $end $enddefinitions $end #0 0! 0@ #10 1! #20 0! 1@ #30 0@ #40";
}

TEST(VcdRead, AnAmbiguousWireListsTheCandidates) {
  expect_error(Fault::usage, "several wires are called 'gate'; choose one by --wire: a.gate, b.gate", [] {
    (void)read(two_wires("gate", "gate"), {"gate", false});
  });
  expect_error(Fault::usage, "several wires could be the gate; choose one by --wire: a.gate, b.gate",
               [] { (void)read(two_wires("gate", "gate")); });
  expect_error(Fault::usage, "several wires could be the gate; choose one by --wire: a.one, b.two",
               [] { (void)read(two_wires("one", "two")); });
  EXPECT_EQ(read(two_wires("gate", "gate"), {"b.gate", false}).stream.bursts, (std::vector<Burst>{{20, 10}}));
}

TEST(VcdRead, TheOnlyWireNeedsNoName) {
  EXPECT_EQ(read("$timescale 1us $end $var wire 1 ! D0 $end $var wire 8 @ all $end $enddefinitions $end #0 "
                 "0! #3 1! #9")
                .stream.bursts,
            (std::vector<Burst>{{3, 6}}));
  expect_refused("declares no wire of one bit",
                 "$timescale 1us $end $var wire 8 ! bus $end $enddefinitions $end #0 b0 ! #3");
}

TEST(VcdRead, DeepScopesCostNoMoreThanTheirBytes) {
  std::string text = "$timescale 1us $end\n";
  for (int i = 0; i < 20'000; ++i) text += "$scope module s $end\n";
  for (int i = 0; i < 20'000; ++i) text += "$var wire 1 i" + std::to_string(i) + " w $end\n";
  expect_error(Fault::usage, "and 19988 more", [&] { (void)read(text + "$enddefinitions $end\n#0\n"); });
}

// ---- damage

TEST(VcdRead, DamageNamesItsLine) {
  expect_refused("c.vcd, line 8: the time goes back from #100 to #99",
                 head("1 us") + "#0 0!\n#100 1!\n#99 0!\n");
  expect_refused("line 6: '#x' is no time", head("1 us") + "#x");
  for (const char* time : {"#", "#-1", "#1.5", "#12a"}) expect_refused("is no time", head("1 us") + time);
  expect_refused("later than a stream may last", head("1 us") + "#0 0! #99999999999999999999");
  expect_refused("later than a stream may last", head("1 us") + "#0 0! #" + std::to_string(kEndOfTime));
  expect_refused("'hello' is neither a time nor a change", head("1 us") + "#0 0! hello");
  expect_refused("'$var' does not belong among changes", head("1 us") + "#0 0! $var");
  expect_refused("$end closes nothing", head("1 us") + "#0 0! $end");
  expect_refused("'b10r' is no value", head("1 us") + "#0 b10r !");
  expect_refused("'r1.5' is no value", head("1 us") + "#0 r1.5 !");
  expect_refused("'7us' is no timescale", "$timescale 7 us $end");
  expect_refused("there is no $timescale", "$var wire 1 ! gate $end $enddefinitions $end #0 0! #1");
  expect_refused("$upscope stands outside", "$upscope $end");
  expect_refused("$var ends too early", "$var wire 1 $end");
  expect_refused("line 1: 'gate' stands where declarations belong", "gate");
}

TEST(VcdRead, CutOffFilesAreRefusedOrEndWhereTheyEnd) {
  for (const char* cut : {"", "$timescale", "$timescale 1 us", "$timescale 1 us $end $var wire 1 ! gate",
                          "$timescale 1 us $end $var wire 1 ! gate $end $enddefinitions"})
    expect_refused("cut off", cut);
  expect_refused("cut off within a block", head("1 us") + "#0 $dumpvars 0!");
  expect_refused("cut off within a change", head("1 us") + "#0 0! #5 b1");
  expect_refused("cut off within $comment", head("1 us") + "#0 0! #5 $comment to be");
  const Capture capture = read(head("1 us") + "#0 0!\n#10 1!\n#20");
  EXPECT_EQ(capture.stream.bursts, (std::vector<Burst>{{10, 10}}));
  EXPECT_TRUE(capture.ends_high);
}

RC_GTEST_PROP(VcdRead, AnyCaptureKeepsTheInvariantAndLosesNoHighTime, ()) {
  const auto scale = *rc::gen::elementOf(std::vector<std::pair<std::string, double>>{
      {"1 us", 1.0}, {"10 ns", 0.01}, {"1 ns", 0.001}, {"10 ps", 0.00001}});
  const auto steps = *rc::gen::container<std::vector<std::pair<int, char>>>(rc::gen::pair(
      rc::gen::weightedOneOf<int>({{1, rc::gen::inRange(0, 5)}, {2, rc::gen::inRange(0, 300'000)}}),
      rc::gen::elementOf(std::string("0101xz"))));
  std::string text = head(scale.first) + "#0\n0!\n";
  std::int64_t time = 0, high = 0;
  char level = '0';
  for (const auto& [step, value] : steps) {
    if (level != '0') high += step;
    time += step;
    level = value;
    text += "#" + std::to_string(time) + "\n" + value + "!\n";
  }
  text += "#" + std::to_string(time + 1) + "\n";
  const Capture capture = read(text);
  require_in_order(capture.stream, "the capture");
  Tick on = 0;
  for (const Burst& burst : capture.stream.bursts) on += burst.on;
  RC_ASSERT(capture.stream.microseconds(on) >= static_cast<double>(high) * scale.second * (1 - 1e-12));
}

RC_GTEST_PROP(VcdRead, RandomChangesNeverCrash, ()) {
  std::string text = *rc::gen::elementOf(std::vector<std::string>{
      kManyWires, to_vcd(test::random_stream(kExactRates, 0, Tick{1} << 28)), two_wires("gate", "other")});
  const int changes = *rc::gen::inRange(1, 8);
  for (int i = 0; i < changes; ++i)
    text[*rc::gen::inRange<std::size_t>(0, text.size())] =
        *rc::gen::oneOf(rc::gen::arbitrary<char>(), rc::gen::elementOf(std::string("$#01xz!b \n")));
  try {
    require_in_order(read(text).stream, "the capture");
  } catch (const Error& error) {
    RC_ASSERT(error.where() != "the capture");
    RC_ASSERT(error.fault() == Fault::bad_input || error.fault() == Fault::usage);
  }
}

}  // namespace
}  // namespace burstloom
