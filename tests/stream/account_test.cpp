// The account of a stream: round trips, and bytes that are none.
#include "burstloom/stream/account.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "burstloom/common/error.hpp"
#include "burstloom/stream/files.hpp"

namespace burstloom {
namespace {

BurstStream stream_of(std::size_t bursts) {
  BurstStream stream{2'000'000, 1'000'000, {}};
  for (std::size_t i = 0; i < bursts; ++i) stream.bursts.push_back({static_cast<Tick>(1000 * i), 80});
  return stream;
}

// Two notes, three bursts; of five wanted ones one was shifted and two were dropped.
Account small_account() {
  Account account;
  account.limits = {"gap", "duty 10 ms"};
  account.notes = {
      {.start = 0, .end = 4000, .key = 69, .velocity = 1, .channel = 2, .track = 1, .voice = 0},
      {.start = 500, .end = 9000, .key = 57.31, .velocity = 0, .said = "folded down 12 semitones"}};
  account.note_of_burst = {0, 1, 0};
  account.changes = {
      {.note = 1, .wanted_start = -30, .wanted_on = 90, .burst = {}, .fate = Fate::dropped, .causes = 3},
      {.note = 1, .wanted_start = 1012, .wanted_on = 80, .burst = 1u, .fate = Fate::shifted, .causes = 1},
      {.note = 0, .wanted_start = 1500, .wanted_on = 80, .burst = {}, .fate = Fate::dropped, .causes = 2}};
  return account;
}

TEST(Account, ComesBackAsItWas) {
  const BurstStream stream = stream_of(3);
  EXPECT_EQ(from_note_part(note_part(small_account(), stream), stream), small_account());
}

TEST(Account, TravelsInTheBurstFile) {
  const BurstFile file{stream_of(3), "Two notes", "name = \"Wren\"\n", small_account()};
  const BurstFile read = from_burst_file(to_burst_file(file), "two.burst");
  EXPECT_EQ(read.account, small_account());
  EXPECT_EQ(read.stream, file.stream);
}

TEST(Account, AFileWithoutOneHasNone) {
  EXPECT_TRUE(from_burst_file(to_burst_file({stream_of(3), "", ""}), "x").account.empty());
}

// docs/reference/burst-format.md, part NOTE: the bytes by hand.
TEST(Account, BytesAreAsDocumented) {
  Account account;
  account.limits = {"gap"};
  account.notes = {
      {.start = 5, .end = 205, .key = 69, .velocity = 1, .channel = 3, .track = 1, .voice = 2, .said = "a"}};
  account.note_of_burst = {0};
  account.changes = {
      {.note = 0, .wanted_start = -1, .wanted_on = 80, .burst = 0u, .fate = Fate::shifted, .causes = 1}};
  const Bytes expected = {1, 3,  'g',  'a',  'p',                                      // one limit
                          1, 10, 0xC8, 0x01, 0xF4, 0x35, 0xFF, 0x01, 3, 1, 2, 1, 'a',  // one note: 6900 cents
                          0,                                                           // the burst's note
                          1, 3,  1,    0,    1,    0xA0, 0x01, 0};  // one change: shifted, -1, 80 ticks
  EXPECT_EQ(note_part(account, stream_of(1)), expected);
}

TEST(Account, EveryCutIsRefused) {
  const BurstStream stream = stream_of(3);
  const Bytes part = note_part(small_account(), stream);
  for (std::size_t length = 0; length < part.size(); ++length)
    EXPECT_FALSE(from_note_part(std::span(part).first(length), stream)) << length;
  Bytes longer = part;
  longer.push_back(0);
  EXPECT_FALSE(from_note_part(longer, stream));
}

TEST(Account, NamesWhatIsThere) {
  const BurstStream stream = stream_of(3);
  Account account = small_account();
  account.note_of_burst[0] = 2;
  EXPECT_THROW((void)note_part(account, stream), Error);
  account = small_account();
  account.changes[1].burst = 3u;
  EXPECT_THROW((void)note_part(account, stream), Error);
  account = small_account();
  account.changes[0].causes = 4;
  EXPECT_THROW((void)note_part(account, stream), Error);
  account = small_account();
  account.changes[0].burst = 0u;  // dropped, and yet there
  EXPECT_THROW((void)note_part(account, stream), Error);
  EXPECT_FALSE(from_note_part(note_part(small_account(), stream), stream_of(4)));
}

RC_GTEST_PROP(Account, AnyBytesAreReadOrRefused, (const std::vector<std::uint8_t>& bytes)) {
  const BurstStream stream = stream_of(2);
  if (const auto account = from_note_part(bytes, stream)) {
    RC_ASSERT(from_note_part(note_part(*account, stream), stream) == account);
  }
}

RC_GTEST_PROP(Account, DamagedAccountsAreReadOrRefused, (std::size_t at, std::uint8_t byte)) {
  const BurstStream stream = stream_of(3);
  Bytes part = note_part(small_account(), stream);
  part[at % part.size()] = byte;
  if (const auto account = from_note_part(part, stream)) {
    RC_ASSERT(account->note_of_burst.size() == 3u);
    for (const std::uint32_t note : account->note_of_burst) RC_ASSERT(note < account->notes.size());
  }
}

}  // namespace
}  // namespace burstloom
