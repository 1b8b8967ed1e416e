// What placing costs the bundled songs, against the plain way to settle collisions with the same cap.
#include <gtest/gtest.h>

#include "burstloom/guard/guard.hpp"
#include "burstloom/listen/listen.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "support/delay_until_free.hpp"

namespace burstloom {
namespace {

const std::string kSamples = BURSTLOOM_SAMPLES;

// The coil with the gap alone left to settle: duty and break rate cost both ways the same bursts or more.
Profile gap_alone(const std::string& coil) {
  Profile profile = read_profile(kSamples + "/coils/" + coil);
  profile.limits.duty = {{1000, 100}};
  profile.limits.break_rate_hz.reset();
  return profile;
}

Wanted wanted_from(const std::string& song, const Profile& profile, int voices) {
  WeaveOptions options;
  options.voices = voices;
  const std::string path = kSamples + "/" + song;
  if (!looks_like_sound(path)) return wanted_from_score(read_midi_score(path), profile, options);
  const Sound sound = read_sound(path);
  return wanted_from_track(std::get<PitchTrack>(listen_follow(sound)), sound.length_s(), profile, options);
}

struct Loss {
  std::uint64_t weight = 0;
  std::size_t bursts = 0;
};

Loss lost_by_placing(const Wanted& wanted, const Profile& profile) {
  const Guarded guarded = place(wanted.bursts, profile, kDefaultTickHz, wanted.length);
  Loss loss;
  for (const LedgerEntry& entry : guarded.ledger.entries)
    if (entry.fate == Fate::dropped) {
      loss.weight += wanted.bursts[entry.wanted].weight;
      ++loss.bursts;
    }
  return loss;
}

Tick gap_ticks(const Profile& profile) {
  return static_cast<Tick>(std::ceil(command_limits(profile).gap_us * kDefaultTickHz / 1e6 - 1e-6));
}

TEST(PlacementOfSongs, LosesNoMoreWeightThanDelayUntilFree) {
  for (const char* coil :
       {"bench-36v.toml", "half-bridge-325v.toml", "full-bridge-560v.toml", "continuous-36v.toml"})
    for (const auto& [song, most_voices] :
         {std::pair("quayside-lanterns.mid", 6), std::pair("ferry-call.flac", 2),
          std::pair("harbour-chords.flac", 2)})
      for (int voices = 2; voices <= most_voices; ++voices) {
        const Profile profile = gap_alone(coil);
        const Wanted wanted = wanted_from(song, profile, voices);
        const Loss placed = lost_by_placing(wanted, profile);
        const auto delayed = testing::delay_until_free(wanted.bursts, gap_ticks(profile));
        std::printf("%s, %s, %d voices: of %zu bursts placing loses %zu, delay-until-free %zu\n", song, coil,
                    voices, wanted.bursts.size(), placed.bursts, delayed.lost);
        EXPECT_LE(placed.weight, delayed.weight_lost)
            << song << " on " << coil << ", " << voices << " voices";
      }
}

TEST(PlacementOfSongs, LosesLessWhereChordsCollide) {
  const Profile profile = gap_alone("full-bridge-560v.toml");
  const Wanted wanted = wanted_from("quayside-lanterns.mid", profile, 3);
  const auto delayed = testing::delay_until_free(wanted.bursts, gap_ticks(profile));
  ASSERT_GT(delayed.weight_lost, 0u);
  EXPECT_LT(lost_by_placing(wanted, profile).weight * 2, delayed.weight_lost);
}

}  // namespace
}  // namespace burstloom
