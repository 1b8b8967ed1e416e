#include "burstloom/stream/leb128.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace burstloom {
namespace {

using Bytes = std::vector<std::uint8_t>;

// DWARF Debugging Information Format 4, appendix C, unsigned examples (figure 22), and 624485 and 2^63 as
// other assemblers' manuals print them.
TEST(Leb128, PublishedVectors) {
  const std::vector<std::pair<std::uint64_t, Bytes>> vectors{
      {2, {0x02}},
      {127, {0x7F}},
      {128, {0x80, 0x01}},
      {129, {0x81, 0x01}},
      {130, {0x82, 0x01}},
      {12857, {0xB9, 0x64}},
      {624485, {0xE5, 0x8E, 0x26}},
      {std::uint64_t{1} << 63, {0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x01}}};
  for (const auto& [value, bytes] : vectors) {
    Bytes written;
    append_leb128(written, value);
    EXPECT_EQ(written, bytes) << value;
    const auto read = read_leb128(bytes);
    ASSERT_TRUE(read) << value;
    EXPECT_EQ(read->value, value);
    EXPECT_EQ(read->bytes, bytes.size());
  }
}

TEST(Leb128, OneSpellingForEveryValue) {
  EXPECT_TRUE(read_leb128(Bytes{0x00}));
  EXPECT_FALSE(read_leb128(Bytes{0x80, 0x00}));
  EXPECT_FALSE(read_leb128(Bytes{0xFF, 0x80, 0x00}));
}

TEST(Leb128, WhatEndsTooEarlyOrRunsTooLongIsNothing) {
  EXPECT_FALSE(read_leb128(Bytes{}));
  EXPECT_FALSE(read_leb128(Bytes{0x80}));
  EXPECT_FALSE(read_leb128(Bytes(9, 0xFF)));
  EXPECT_FALSE(read_leb128(Bytes{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0x02})) << "65 bits";
  EXPECT_FALSE(read_leb128(Bytes(11, 0x81)));
}

RC_GTEST_PROP(Leb128, WhatIsWrittenIsRead, (std::uint64_t value, Bytes after)) {
  Bytes written;
  append_leb128(written, value);
  const std::size_t length = written.size();
  written.insert(written.end(), after.begin(), after.end());
  const auto read = read_leb128(written);
  RC_ASSERT(read.has_value());
  RC_ASSERT(read->value == value);
  RC_ASSERT(read->bytes == length);
}

}  // namespace
}  // namespace burstloom
