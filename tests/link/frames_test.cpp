// Frames on the wire against published vectors.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <numeric>

#include "burstloom/link/frames.hpp"

namespace {

using burstloom::Bytes;
using burstloom::frame_of;
using burstloom::from_cobs;
using burstloom::to_cobs;

Bytes text(const std::string& words) {
  return {words.begin(), words.end()};
}
Bytes from_to(int first, int last) {
  Bytes bytes(static_cast<std::size_t>(last - first + 1));
  std::iota(bytes.begin(), bytes.end(), static_cast<std::uint8_t>(first));
  return bytes;
}
Bytes operator+(Bytes a, const Bytes& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

// Vectors of cobs-python's tests (commit 64f8c21f), which encode as Cheshire and Baker, IEEE/ACM Transactions
// on Networking 7(2), 1999, say.
TEST(cobs, encodes_and_decodes_published_vectors) {
  const Bytes zero = {0};
  const std::vector<std::pair<Bytes, Bytes>> vectors = {
      {{}, {1}},
      {zero, {1, 1}},
      {{0, 0}, {1, 1, 1}},
      {text("12345") + zero + text("6789"), Bytes{6} + text("12345") + Bytes{5} + text("6789")},
      {zero + text("12345") + zero + text("6789"), Bytes{1, 6} + text("12345") + Bytes{5} + text("6789")},
      {text("12345") + zero + text("6789") + zero,
       Bytes{6} + text("12345") + Bytes{5} + text("6789") + Bytes{1}},
      {from_to(1, 0xFD), Bytes{0xFE} + from_to(1, 0xFD)},
      {from_to(1, 0xFE), Bytes{0xFF} + from_to(1, 0xFE)},
      {from_to(1, 0xFF), Bytes{0xFF} + from_to(1, 0xFE) + Bytes{2, 0xFF}},
      {from_to(0, 0xFF), Bytes{1, 0xFF} + from_to(1, 0xFE) + Bytes{2, 0xFF}},
      // The paper's example of a packet's head (from memory), and two more that follow from its rules.
      {{0x45, 0, 0, 0x2C, 0x4C, 0x79, 0, 0, 0x40, 0x06, 0x4F, 0x37},
       {2, 0x45, 1, 4, 0x2C, 0x4C, 0x79, 1, 5, 0x40, 0x06, 0x4F, 0x37}},
      {{0x11, 0x22, 0, 0x33}, {3, 0x11, 0x22, 2, 0x33}},
      {from_to(2, 0xFF) + zero, Bytes{0xFF} + from_to(2, 0xFF) + Bytes{1, 1}},
  };
  for (const auto& [plain, stuffed] : vectors) {
    EXPECT_EQ(to_cobs(plain), stuffed);
    EXPECT_EQ(from_cobs(stuffed), plain);
  }
}

TEST(cobs, refuses_what_nobody_encodes) {  // cobs-python's tests again
  for (const Bytes& bad : {Bytes{0}, Bytes{5, 0x31, 0x32, 0x33}, Bytes{5, 0x31, 0x32, 0x33, 0x34, 0},
                           Bytes{5, 0x31, 0x32, 0, 0x34}, Bytes{}})
    EXPECT_EQ(from_cobs(bad), std::nullopt);
}

RC_GTEST_PROP(cobs, brings_everything_back_without_a_zero_on_the_way, (const Bytes& plain)) {
  const Bytes stuffed = to_cobs(plain);
  RC_ASSERT(std::count(stuffed.begin(), stuffed.end(), 0) == 0);
  RC_ASSERT(stuffed.size() <= plain.size() + 1 + plain.size() / 254);
  RC_ASSERT(from_cobs(stuffed) == plain);
}

// CRC-16/GENIBUS, check 0xD64E: the catalogue's CRC-16/IBM-3740 (alias CCITT-FALSE), whose check value 0x29B1
// is the published one, inverted at the end.
TEST(crc16, has_the_published_check_value) {
  EXPECT_EQ(burstloom::crc16(text("123456789")), 0x29B1 ^ 0xFFFF);
  EXPECT_EQ(burstloom::crc16(text("123456789")), 0xD64E);
  EXPECT_EQ(burstloom::crc16({}), 0);
}

TEST(frame_reader, finds_sound_frames_among_damaged_ones) {
  Bytes wire = {7, 7, 0};  // the end of something
  wire = wire + frame_of({0x82, 1}) + frame_of({0x82, 2}) + Bytes{0, 0} + frame_of({0x82, 3});
  wire[5] ^= 2;  // the first frame's body
  burstloom::FrameReader reader;
  std::vector<Bytes> bodies;
  for (const std::uint8_t byte : wire)
    for (const Bytes& body : reader.take(std::array{byte})) bodies.push_back(body);
  EXPECT_EQ(bodies, (std::vector<Bytes>{{0x82, 2}, {0x82, 3}}));
  EXPECT_EQ(reader.damaged(), 2);
}

// A closing zero that is hit becomes a group of its own: one zero more behind a right checksum.
TEST(frame_reader, refuses_a_zero_behind_the_checksum) {
  Bytes wire = frame_of({0x82, 1, 2});
  wire.back() = 1;
  wire.push_back(0);
  burstloom::FrameReader reader;
  EXPECT_TRUE(reader.take(wire).empty());
  EXPECT_EQ(reader.damaged(), 1);
}

TEST(frame_reader, lets_endless_noise_pass) {
  burstloom::FrameReader reader;
  for (int i = 0; i < 1'000; ++i) (void)reader.take(Bytes(1'000, 0x55));
  (void)reader.take(Bytes{0});
  EXPECT_EQ(reader.damaged(), 1);
  EXPECT_EQ(reader.take(frame_of({0x82, 9})).size(), 1u);
}

}  // namespace
