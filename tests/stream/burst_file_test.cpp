#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/stream/files.hpp"
#include "burstloom/stream/leb128.hpp"
#include "stream_support.hpp"
#include "support/page_bytes.hpp"

namespace burstloom {
namespace {

using test::expect_error;

const std::vector<std::int64_t> kRates{1000, 44'100, 2'000'000, 3'000'000, 100'000'000};

BurstFile small() {
  return {{2'000'000, 50'000, {{4545, 80}, {9090, 200}}}, "Two taps", "name = \"Wren\"\n"};
}

std::size_t find_tag(const Bytes& bytes, const std::string& tag) {
  return static_cast<std::size_t>(std::search(bytes.begin(), bytes.end(), tag.begin(), tag.end()) -
                                  bytes.begin());
}

// Puts a right CRC-32 at the end again after a change.
Bytes resealed(Bytes bytes) {
  const std::uint32_t sum = crc32(std::span(bytes).first(bytes.size() - 12));
  for (std::size_t i = 0; i < 4; ++i) bytes[bytes.size() - 4 + i] = static_cast<std::uint8_t>(sum >> (8 * i));
  return bytes;
}

void expect_refused(const std::string& part, const Bytes& bytes) {
  expect_error(Fault::bad_input, part, [&] { (void)from_burst_file(bytes, "s.burst"); });
}

// A file whose BRST part holds these bytes, `count` of them announced.
Bytes with_bursts(const Bytes& payload, std::uint32_t count, std::uint64_t length) {
  Bytes bytes = to_burst_file({{2'000'000, static_cast<Tick>(length), {}}, "", ""});
  const std::size_t time = find_tag(bytes, "TIME"), at = find_tag(bytes, "BRST");
  for (std::size_t i = 0; i < 4; ++i) bytes[time + 8 + 12 + i] = static_cast<std::uint8_t>(count >> (8 * i));
  bytes[at + 4] = static_cast<std::uint8_t>(payload.size());
  bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at) + 8, payload.begin(), payload.end());
  return resealed(bytes);
}

RC_GTEST_PROP(BurstFile, WhatIsWrittenIsRead, (std::string title, std::string profile)) {
  const BurstFile file{test::random_stream(kRates, 0), title, profile};
  const BurstFile read = from_burst_file(to_burst_file(file), "s.burst");
  RC_ASSERT(read.stream == file.stream);
  RC_ASSERT(read.title == title);
  RC_ASSERT(read.profile == profile);
}

// The worked example of docs/reference/burst-format.md: the bytes printed there are these, and say what the
// page says.
TEST(BurstFile, TheWorkedExampleOfTheFormatsPage) {
  const auto blocks = test::bytes_on_page("burst-format.md");
  ASSERT_EQ(blocks.size(), 1u);
  const Bytes& bytes = blocks.front();
  EXPECT_EQ(bytes, to_burst_file(small()));
  const BurstFile read = from_burst_file(bytes, "docs/reference/burst-format.md");
  EXPECT_EQ(read.stream, small().stream);
  EXPECT_EQ(read.title, "Two taps");
  EXPECT_EQ(read.profile, "name = \"Wren\"\n");
}

TEST(BurstFile, AHeldNoteTakesAboutThreeBytesABurst) {
  BurstStream stream;
  for (Tick i = 0; i < 26'400; ++i)
    stream.bursts.push_back({i * 50'000 / 11, 80});  // 440 Hz, 40 us, one minute
  stream.length = 120'000'000;
  const auto size = to_burst_file({stream, "", ""}).size();
  EXPECT_NEAR(static_cast<double>(size) / 26'400.0, 3.0, 0.01);
}

TEST(BurstFile, CutOffAtAnyByteIsRefused) {
  const Bytes whole = to_burst_file(small());
  for (std::size_t length = 0; length < whole.size(); ++length)
    expect_refused("cut off", Bytes(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(length)));
}

TEST(BurstFile, AnyChangedBitIsRefused) {
  const Bytes whole = to_burst_file(small());
  for (std::size_t bit = 0; bit < whole.size() * 8; ++bit) {
    Bytes changed = whole;
    changed[bit / 8] ^= static_cast<std::uint8_t>(1u << (bit % 8));
    EXPECT_THROW((void)from_burst_file(changed, "s.burst"), Error) << "bit " << bit;
  }
}

TEST(BurstFile, WrongMagicNewerVersionWrongSumAndTrailingBytesAreToldApart) {
  const Bytes whole = to_burst_file(small());
  const auto changed = [&](std::size_t at, std::uint8_t value) {
    Bytes bytes = whole;
    bytes[at] = value;
    return bytes;
  };
  expect_refused("s.burst, byte 0: is not a .burst file", changed(0, 'X'));
  expect_refused("s.burst, byte 8: has version 2 of the format, known is 1", changed(8, 2));
  expect_refused("has version 0", changed(8, 0));
  expect_refused("the CRC-32 does not match",
                 changed(whole.size() - 1, static_cast<std::uint8_t>(~whole.back())));
  Bytes longer = whole;
  longer.push_back(0);
  expect_refused("byte " + std::to_string(whole.size()) + ": 1 bytes stand after the end", longer);
}

TEST(BurstFile, APartThatALaterVersionAddsIsSkipped) {
  Bytes bytes = to_burst_file(small());
  const std::string part{"LATE\x03\0\0\0abc", 11};
  bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(find_tag(bytes, "TITL")), part.begin(),
               part.end());
  EXPECT_EQ(from_burst_file(resealed(bytes), "s.burst").stream, small().stream);
}

TEST(BurstFile, ALongerTimePartOfALaterVersionIsRead) {
  Bytes bytes = to_burst_file(small());
  const std::size_t time = find_tag(bytes, "TIME");
  bytes[time + 4] += 2;
  bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(time) + 8 + 16, {7, 7});
  EXPECT_EQ(from_burst_file(resealed(bytes), "s.burst").stream, small().stream);
}

TEST(BurstFile, MissingAndDoubledPartsAreRefused) {
  for (const char* tag : {"TIME", "BRST"}) {
    Bytes bytes = to_burst_file(small());
    bytes[find_tag(bytes, tag)] = 'X';
    expect_refused(std::string("the part ") + tag + " is missing", resealed(bytes));
  }
  Bytes bytes = to_burst_file(small());
  const std::string part{"TITL\0\0\0\0", 8};
  bytes.insert(bytes.begin() + 10, part.begin(), part.end());
  expect_refused("TITL stands there twice", resealed(bytes));
}

TEST(BurstFile, LyingCountsAreRefusedBeforeMemoryIsAskedFor) {
  expect_refused("4294967295 bursts are announced", with_bursts({1, 1}, 0xFFFFFFFF, 100));
  expect_refused("2 bursts are announced", with_bursts({1, 1, 1}, 2, 100));
  expect_refused("2 bytes stand after the last burst", with_bursts({1, 1, 1, 1}, 1, 100));
}

TEST(BurstFile, BurstsThatBreakTheInvariantAreRefused) {
  EXPECT_EQ(from_burst_file(with_bursts({1, 99}, 1, 100), "x").stream.bursts, (std::vector<Burst>{{1, 99}}));
  expect_refused("burst 1 has no on-time", with_bursts({1, 0}, 1, 100));
  expect_refused("burst 1 reaches past the end", with_bursts({1, 100}, 1, 100));
  expect_refused("burst 2 reaches past the end", with_bursts({1, 9, 91, 1}, 2, 100));
  expect_refused("burst 1 holds a number that is broken", with_bursts({0x81, 0x00, 1}, 1, 100));
  expect_refused("burst 1 holds a number that is broken", with_bursts({1, 0x80}, 1, 100));
  Bytes huge{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0x01, 1};
  expect_refused("burst 1 reaches past the end", with_bursts(huge, 1, 100));
}

TEST(BurstFile, ImpossibleTimeBasesAreRefused) {
  const auto with_time = [](std::size_t at, std::vector<std::uint8_t> values) {
    Bytes bytes = to_burst_file(small());
    const std::size_t time = find_tag(bytes, "TIME") + 8;
    for (std::size_t i = 0; i < values.size(); ++i) bytes[time + at + i] = values[i];
    return resealed(bytes);
  };
  expect_refused("the tick rate is 999 Hz", with_time(0, {0xE7, 0x03, 0, 0}));
  expect_refused("the tick rate is 4294967295 Hz", with_time(0, {0xFF, 0xFF, 0xFF, 0xFF}));
  expect_refused("more than a stream may have", with_time(4, {0, 0, 0, 0, 0, 0, 4, 0}));
  expect_refused("burst 1 reaches past the end", with_time(4, {1, 0, 0, 0, 0, 0, 0, 0}));
}

TEST(BurstFile, ABrokenStreamIsNotWritten) {
  BurstFile file;
  file.stream = {2'000'000, 100, {{10, 5}, {12, 5}}};
  expect_error(Fault::bad_input, "starts before the one before it ends", [&] { (void)to_burst_file(file); });
}

RC_GTEST_PROP(BurstFile, RandomChangesNeverCrash, ()) {
  Bytes bytes = to_burst_file({test::random_stream(kRates, 0), "t", "p"});
  const int changes = *rc::gen::inRange(1, 8);
  for (int i = 0; i < changes; ++i)
    bytes[*rc::gen::inRange<std::size_t>(10, bytes.size() - 12)] = *rc::gen::arbitrary<std::uint8_t>();
  try {
    require_in_order(from_burst_file(resealed(bytes), "s.burst").stream, "s.burst");
  } catch (const Error& error) {
    RC_ASSERT(error.fault() == Fault::bad_input);
    RC_ASSERT(std::string(error.what()).find("does not hold its bursts") == std::string::npos);
  }
}

}  // namespace
}  // namespace burstloom
