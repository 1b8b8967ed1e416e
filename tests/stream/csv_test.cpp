#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/stream/files.hpp"
#include "stream_support.hpp"

namespace burstloom {
namespace {

using test::expect_error;

const std::vector<std::int64_t> kDecimalRates{1000,      1024,       15'625,     1'000'000,
                                              2'000'000, 16'000'000, 67'108'864, 100'000'000};

void expect_refused(const std::string& part, const std::string& text) {
  expect_error(Fault::bad_input, part, [&] { (void)from_csv(text, "s.csv"); });
}

std::string row(const std::string& text) {
  return "# tick_hz=2000000\nstart_us,on_us\n" + text + "\n";
}

TEST(Csv, TheTextIsExact) {
  EXPECT_EQ(to_csv({2'000'000, 5'000'000'000, {{0, 1}, {4545, 80}, {4'000'000'001, 2}}}),
            "# tick_hz=2000000\nstart_us,on_us\n0,0.5\n2272.5,40\n2000000000.5,1\n");
  EXPECT_EQ(to_csv({1024, 10, {{1, 2}}}), "# tick_hz=1024\nstart_us,on_us\n976.5625,1953.125\n");
  EXPECT_EQ(to_csv({16'000'000, 0, {}}), "# tick_hz=16000000\nstart_us,on_us\n");
}

RC_GTEST_PROP(Csv, WhatIsWrittenIsRead, ()) {
  BurstStream stream = test::random_stream(kDecimalRates, 0);
  stream.length = stream.bursts.empty() ? 0 : stream.bursts.back().end();
  RC_ASSERT(from_csv(to_csv(stream), "s.csv") == stream);
}

TEST(Csv, TheLatestMomentIsExactToo) {
  for (const std::int64_t rate : kDecimalRates) {
    const BurstStream stream{rate, kEndOfTime - 1, {{0, 1}, {kEndOfTime - 2, 1}}};
    EXPECT_EQ(from_csv(to_csv(stream), "s.csv"), stream) << rate;
  }
}

TEST(Csv, TicksWithoutAFiniteDecimalAreNotWritten) {
  for (const std::int64_t rate : {44'100, 48'000, 192'000, 3'000'000, 12'000'000, 99'999'999})
    expect_error(Fault::usage, "has no finite decimal", [&] { (void)to_csv({rate, 0, {}}); });
}

TEST(Csv, HandWrittenFilesAreRead) {
  const BurstStream wanted{2'000'000, 60, {{2, 4}, {20, 40}}};
  for (const char* text :
       {"# tick_hz=2000000\nstart_us,on_us\n1,2\n10,20\n", "# tick_hz=2000000\nstart_us,on_us\n1,2\n10,20",
        "# tick_hz=2000000\r\nstart_us,on_us\r\n1,2\r\n10,20\r\n",
        "\xEF\xBB\xBF# tick_hz=2000000\nstart_us,on_us\n1,2\n10,20\n",
        "\n#tick_hz=2000000\n\n# my bench\nstart_us,on_us\n\n1.0, 2.000\n# a remark\n 010 "
        ",20.0000000000000000000000000\n\n"})
    EXPECT_EQ(from_csv(text, "s.csv"), wanted) << text;
}

TEST(Csv, AMissingTickRateSaysWhatToAdd) {
  expect_refused("s.csv, line 1: no line says how long a tick is; add '# tick_hz=2000000'",
                 "start_us,on_us\n1,2\n");
  expect_refused("add '# tick_hz=2000000'", "# something else\n1,2\n");
  expect_refused("add '# tick_hz=2000000'", "");
}

TEST(Csv, ABadTickRateIsRefused) {
  for (const char* rate :
       {"", "0", "-5", "999", "100000001", "2e6", "2000000.0", "99999999999999999999", "2000000 Hz"})
    expect_refused("is no tick rate", std::string("# tick_hz=") + rate + "\nstart_us,on_us\n");
  expect_refused("line 2: a second tick rate, 1000 Hz, contradicts", "# tick_hz=2000000\n# tick_hz=1000\n");
}

TEST(Csv, AMissingHeaderIsRefused) {
  expect_refused("line 2: '1,2' stands where the header belongs", "# tick_hz=2000000\n1,2\n");
  expect_refused("not even the header", "# tick_hz=2000000\n");
}

TEST(Csv, RowsThatAreNoBurstsNameTheirLine) {
  expect_refused("line 3: 'hello' is not two numbers", row("hello"));
  expect_refused("line 3: '1,2,3' is not two numbers", row("1,2,3"));
  for (const char* bad : {"-1", "+1", "1e3", "0x10", ".5", "1.", "1.2.3", "1 000", "nan", ""})
    expect_refused("is no decimal number of microseconds", row(std::string(bad) + ",2"));
  expect_refused("line 3: the on-time '0.7' µs is no whole number of ticks of 1/2000000 s", row("1,0.7"));
  expect_refused("no whole number of ticks", row("1.50000000000000000000000000000001,1"));
  expect_refused("line 3: the on-time is 0", row("1,0"));
}

TEST(Csv, UnsortedAndOverlappingRowsNameTheirLine) {
  expect_refused("line 5: the burst starts before the one above it ends", row("1,2\n\n2.5,1"));
  expect_refused("line 4: the burst starts before", row("100,2\n1,1"));
  EXPECT_NO_THROW((void)from_csv(row("1,2\n3,1"), "s.csv")) << "bursts may touch";
}

TEST(Csv, TimesPastTheEndOfTimeAreRefused) {
  const std::string last = std::to_string(kEndOfTime / 2);  // in us at 2 MHz
  expect_refused("is later than a stream may last", row(last + ",1"));
  expect_refused("ends later than a stream may last", row("1," + std::to_string(kEndOfTime / 2 - 1)));
  expect_refused("is later than a stream may last", row(std::string(400, '9') + ",1"));
  expect_refused("is later than a stream may last",
                 "# tick_hz=1000\nstart_us,on_us\n9300000000000000000,1\n");
}

// The reader against arithmetic of another kind: the decimal of a tick, made from whole nanoseconds.
RC_GTEST_PROP(Csv, ReadsWhatNanosecondsSay, ()) {
  const Tick start = *rc::gen::inRange<Tick>(0, Tick{1} << 40),
             on = *rc::gen::inRange<Tick>(1, Tick{1} << 40);
  const auto decimal = [](Tick tick) {
    std::string ns = std::to_string(tick * 10);
    ns.insert(0, ns.size() < 4 ? 4 - ns.size() : 0, '0');
    return ns.substr(0, ns.size() - 3) + "." + ns.substr(ns.size() - 3);
  };
  const auto read =
      from_csv("# tick_hz=100000000\nstart_us,on_us\n" + decimal(start) + "," + decimal(on), "s.csv");
  RC_ASSERT(read.bursts == (std::vector<Burst>{{start, on}}));
}

RC_GTEST_PROP(Csv, RandomChangesNeverCrash, ()) {
  std::string text = to_csv(test::random_stream(kDecimalRates, 0));
  const int changes = *rc::gen::inRange(1, 6);
  for (int i = 0; i < changes; ++i)
    text[*rc::gen::inRange<std::size_t>(0, text.size())] = *rc::gen::arbitrary<char>();
  try {
    RC_ASSERT_FALSE(from_csv(text, "s.csv").tick_hz == 0);
  } catch (const Error& error) {
    RC_ASSERT(error.fault() == Fault::bad_input);
  }
}

}  // namespace
}  // namespace burstloom
