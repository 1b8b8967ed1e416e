// One song on several coils.
#include <gtest/gtest.h>

#include "burstloom/weave/coils.hpp"
#include "burstloom/weave/weave.hpp"
#include "plain.hpp"

namespace burstloom {
namespace {

Score trio() {
  Score score;
  score.notes = {{0, 2, 40, .8, 0},
                 {0, 2, 60, .8, 1},
                 {0, 2, 76, .8, 2},
                 {1, 1.1, 38, .8, 9, 0, Envelope::held, Part::drums}};
  score.length_s = 3;
  score.channels[2].bend = {{0, 1}};
  return score;
}

std::vector<double> keys(const Score& score) {
  std::vector<double> all;
  for (const Note& note : score.notes) all.push_back(note.key);
  return all;
}
using Keys = std::vector<double>;

TEST(Coils, ByGuessedPartTheRestToTheOther) {
  const auto scores = split_for_coils(trio(), {{{Part::lead}, {}}, {{}, {}}});
  ASSERT_EQ(scores.size(), 2u);
  EXPECT_EQ(keys(scores[0]), (Keys{76}));
  EXPECT_EQ(keys(scores[1]), (Keys{40, 60, 38}));
  EXPECT_EQ(scores[1].notes[1].part, Part::inner);  // though it is now the highest of its coil
  EXPECT_EQ(scores[0].channels[2].bend, trio().channels[2].bend);
}

TEST(Coils, ChannelsComeBeforeParts) {
  const auto scores = split_for_coils(trio(), {{{Part::lead, Part::drums}, {}}, {{}, {2, 0}}});
  EXPECT_EQ(keys(scores[0]), (Keys{38}));
  EXPECT_EQ(keys(scores[1]), (Keys{40, 76}));
  ASSERT_EQ(scores[0].remarks.size(), 1u);
  EXPECT_EQ(scores[0].remarks[0], "1 notes are assigned to no coil");
}

TEST(Coils, TheirStreamsRunSideBySide) {
  const Profile profile = testing::plain_profile();
  Profile other = profile;
  other.limits.on_time_max_us = 30;
  const auto scores = split_for_coils(trio(), {{{Part::lead}, {}}, {{}, {}}});
  const Wanted a = wanted_from_score(scores[0], profile, {}), b = wanted_from_score(scores[1], other, {});
  EXPECT_EQ(a.length, 6'000'000);
  EXPECT_EQ(b.length, a.length);
  EXPECT_EQ(a.bursts.front().start, 0);
  EXPECT_EQ(b.bursts.front().start, 0);
}

}  // namespace
}  // namespace burstloom
