// The worked examples of docs/reference/serial-link.md.
#include <gtest/gtest.h>

#include "burstloom/link/frames.hpp"
#include "burstloom/stream/pair_entry.hpp"
#include "support/page_bytes.hpp"

namespace burstloom {
namespace {

// Bodies of the frames in one of the page's blocks.
std::vector<Bytes> bodies_on_page(std::size_t block) {
  const auto blocks = test::bytes_on_page("serial-link.md");
  FrameReader reader;
  auto bodies = block < blocks.size() ? reader.take(blocks[block]) : std::vector<Bytes>{};
  EXPECT_EQ(reader.damaged(), 0);
  return bodies;
}

TEST(link_page, its_frames_from_the_computer_are_sound_and_hold_the_bursts) {
  const auto bodies = bodies_on_page(0);
  ASSERT_EQ(bodies.size(), 6u);
  EXPECT_EQ(bodies[0], (Bytes{0x01, kLinkVersion}));
  EXPECT_EQ(bodies[1].size(), 19u);
  Bytes bursts = {0x03, 7, 0, 0};
  append_pair_entry(bursts, {4545, 80}, {});
  append_pair_entry(bursts, {9090, 78}, {4545, 80});
  EXPECT_EQ(bodies[2], bursts);
  EXPECT_EQ(bodies[3], (Bytes{0x03, 7, 1, 0}));
  EXPECT_EQ(bodies[4], (Bytes{0x04, 7, 2, 0}));
  EXPECT_EQ(bodies[5], Bytes{0x05});
}

TEST(link_page, its_live_bursts_hold_a_rest_and_a_burst) {
  const auto bodies = bodies_on_page(1);
  ASSERT_EQ(bodies.size(), 1u);
  Bytes bursts = {0x03, 7, 0, 0};
  append_pair_entry(bursts, {100'000, 0}, {});
  append_pair_entry(bursts, {110'000, 80}, {100'000, 0});
  EXPECT_EQ(bodies[0], bursts);
}

TEST(link_page, its_answers_say_what_the_page_says) {
  const auto bodies = bodies_on_page(2);
  ASSERT_EQ(bodies.size(), 2u);
  const auto player = player_info_from(bodies[0]);
  ASSERT_TRUE(player);
  EXPECT_EQ(player->version, kLinkVersion);
  EXPECT_EQ(player->tick_hz, 2'000'000);
  EXPECT_EQ(player->on_max, 79);
  EXPECT_EQ(player->gap_min, 242);
  EXPECT_EQ(player->rest_ms, 60'000);
  EXPECT_EQ(player->buffer_bytes, 1022);
  const auto status = player_status_from(bodies[1]);
  ASSERT_TRUE(status);
  EXPECT_EQ(status->session, 7);
  EXPECT_EQ(status->state, PlayerState::playing);
  EXPECT_EQ(status->expected, 2);
  EXPECT_EQ(status->room_until, 1022);
  EXPECT_EQ(status->made, 2);
  EXPECT_EQ(status->song_time, 20'000u);
}

}  // namespace
}  // namespace burstloom
