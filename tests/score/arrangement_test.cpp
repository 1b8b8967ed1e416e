// Arrangements: what each key does, what is refused, and that a suggested one parses.
#include "burstloom/score/arrangement.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom {
namespace {

Score small_score() {
  Score score;
  score.title = "Small";
  score.length_s = 10;
  score.notes = {{.start_s = 0, .end_s = 4, .key = 72, .velocity = 0.5, .channel = 0, .track = 1},
                 {.start_s = 1, .end_s = 3, .key = 60, .velocity = 1, .channel = 1, .track = 2},
                 {.start_s = 2, .end_s = 6, .key = 64, .velocity = 1, .channel = 1, .track = 2},
                 {.start_s = 5, .end_s = 9, .key = 36, .velocity = 0.25, .channel = 2, .track = 3},
                 {.start_s = 8,
                  .end_s = 8.1,
                  .key = 42,
                  .velocity = 0.8,
                  .channel = 9,
                  .track = 4,
                  .part = Part::drums}};
  return score;
}
Score with(const std::string& toml) {
  return arranged(small_score(), parse_arrangement(toml, "a.toml"));
}
std::vector<double> keys_of(const Score& score) {
  std::vector<double> keys;
  for (const Note& note : score.notes) keys.push_back(note.key);
  return keys;
}
using Keys = std::vector<double>;

// For a whole song, on top of what a channel's line says; drums stay what they are.
TEST(Arrangement, TransposesAndTurnsDownAWholeSong) {
  const Arrangement arrangement = parse_arrangement(
      "[song]\ntranspose = -2\ngain_db = -12\n[[channel]]\nchannel = 1\ntranspose = 12\n", "a.toml");
  const Score score = arranged(small_score(), arrangement);
  ASSERT_EQ(score.notes.size(), 5U);
  EXPECT_EQ(score.notes[0].key, 82);
  EXPECT_EQ(score.notes[1].key, 58);
  EXPECT_EQ(score.notes[4].key, 42);
  // -12 dB by 40 log10 of the velocity (General MIDI 2): a factor of 10^(-12/40).
  for (std::size_t i = 0; i < 5; ++i)
    EXPECT_NEAR(score.notes[i].velocity, small_score().notes[i].velocity * std::pow(10, -0.3), 1e-12) << i;
}

TEST(Arrangement, OfNothingChangesNothing) {
  const Score same = with("");
  EXPECT_EQ(same.notes, small_score().notes);
  EXPECT_EQ(same.length_s, 10);
}

TEST(Arrangement, TurnsChannelsAndTracksOff) {
  EXPECT_EQ(keys_of(with("[[channel]]\nchannel = 2\non = false\n")), (Keys{72, 36, 42}));
  EXPECT_EQ(keys_of(with("[[track]]\ntrack = 2\non = false\n")), (Keys{60, 64, 36, 42}));
}

TEST(Arrangement, SaysRolesTransposesAndGain) {
  const Score score = with(
      "[[channel]]\nchannel = 3\nrole = \"bass\"\ntranspose = 12\ngain_db = 6.0\nenvelope = \"plucked\"\n"
      "[[track]]\ntrack = 4\ntranspose = -7\n");
  const Note& note = score.notes[3];
  EXPECT_EQ(note.part, Part::bass);
  EXPECT_EQ(note.key, 36 + 12 - 7);
  EXPECT_EQ(note.envelope, Envelope::plucked);
  EXPECT_NEAR(40 * std::log10(note.velocity / 0.25), 6, 1e-9);
  EXPECT_EQ(with("[[channel]]\nchannel = 2\ngain_db = 20\n").notes[1].velocity, 1);  // never over the loudest
  EXPECT_EQ(keys_of(with("[[channel]]\nchannel = 1\ntranspose = 60\n")),
            (Keys{60, 64, 36, 42}));  // beyond MIDI's keys
}

TEST(Arrangement, MapsDrums) {
  EXPECT_EQ(keys_of(with("[drums]\n42 = 46\n")).back(), 46);
  EXPECT_EQ(with("[drums]\n42 = \"off\"\n").notes.size(), 4u);
  EXPECT_EQ(with("[drums]\n60 = \"off\"\n").notes.size(), 5u);  // key 60 is no drum there
  EXPECT_EQ(keys_of(with("[[channel]]\nchannel = 10\ntranspose = 5\n")).back(), 42);
}

TEST(Arrangement, HoldsVoices) {
  // 60 sounds from 1 to 3, 64 begins at 2: the higher stays, unless it is the bass.
  const Score high = with("[[channel]]\nchannel = 2\nvoices = 1\n");
  EXPECT_EQ(high.notes[1].end_s, 2);
  EXPECT_EQ(high.notes[2].end_s, 6);
  EXPECT_EQ(keys_of(with("[[channel]]\nchannel = 2\nvoices = 1\nrole = \"bass\"\n")), (Keys{72, 60, 36, 42}));
  EXPECT_EQ(high.remarks.size(), 1u);
}

TEST(Arrangement, CutsAndTimesAnew) {
  Score score = small_score();
  score.channels[0].bend = {{0.5, 1}, {3, 2}, {9, 3}};
  const Score cut =
      arranged(score, parse_arrangement("[song]\nstart_s = 2\nend_s = 8\ntempo_factor = 2\n", "a"));
  EXPECT_EQ(cut.length_s, 3);
  ASSERT_EQ(cut.notes.size(), 4u);
  EXPECT_EQ(cut.notes[0].start_s, 0);
  EXPECT_EQ(cut.notes[2].end_s, cut.notes[2].key == 64 ? 2 : 1);
  EXPECT_EQ(cut.notes[3].start_s, 1.5);
  EXPECT_EQ(cut.notes[3].end_s, 3);
  EXPECT_EQ(cut.channels[0].bend, (StepCurve{{0, 1}, {0.5, 2}}));
}

TEST(Arrangement, Fades) {
  Score score = small_score();
  score.channels[1].gain = {{0, 0.5}, {9.5, 1}};
  const Score faded = arranged(score, parse_arrangement("[song]\nfade_in_s = 2\nfade_out_s = 4\n", "a"));
  const auto gain = [&](std::size_t channel, double at_s) {
    return value_at(faded.channels[channel].gain, at_s, 1);
  };
  EXPECT_NEAR(gain(0, 0), 0, 0.011);
  EXPECT_NEAR(gain(0, 1), 0.5, 0.011);
  EXPECT_NEAR(gain(0, 4), 1, 1e-9);
  EXPECT_NEAR(gain(1, 4), 0.5, 1e-9);
  EXPECT_NEAR(gain(1, 8), 0.25, 0.011);
  EXPECT_NEAR(gain(1, 9.6), 0.1, 0.011);
  EXPECT_NEAR(gain(0, 10), 0, 1e-9);
  for (const ChannelCurves& curves : faded.channels)
    for (std::size_t i = 1; i < curves.gain.size(); ++i)
      EXPECT_LT(curves.gain[i - 1].at_s, curves.gain[i].at_s);
}

struct Refused {
  std::string toml;
  const char *what, *where;
};
TEST(Arrangement, RefusesWithLineAndWhatToDo) {
  std::string deep;
  for (int i = 0; i < 100'000; ++i) deep += "a.";
  for (const Refused& it :
       {Refused{"[song]\ntempo = 2\n", "no key \"tempo\" in [song]", "line 2"},
        {"[song]\ntempo_factor = 9\n", "tempo_factor is 9", "line 2"},
        {"[song]\ntempo_factor = \"fast\"\n", "song.tempo_factor is 'fast'", "line 2"},
        {"[song]\nstart_s = 5\nend_s = 5\n", "end_s is 5", "line 3"},
        {"[song]\nstart_s = nan\n", "start_s is nan", "line 2"},
        {"song = 1\n", "song is 1", "line 1"},
        {"[[channel]]\nchannel = 17\n", "channel.channel is 17", "line 2"},
        {"[[channel]]\nchannel = 1.5\n", "channel.channel is 1.5", "line 2"},
        {"\n[[channel]]\non = true\n", "does not say which channel", "line 2"},
        {"[[channel]]\nchannel = 1\n[[channel]]\nchannel = 1\n", "channel.channel is 1", "line 4"},
        {"[[channel]]\nchannel = 1\nrole = \"solo\"\n", "role is 'solo'", "line 3"},
        {"[[channel]]\nchannel = 1\nvoices = 0\n", "voices is 0", "line 3"},
        {"[channel]\nchannel = 1\n", "channel is a table", "line 1"},
        {"[drums]\nkick = 3\n", "drums.kick is 3; name a drum by its number", "line 2"},
        {"[drums]\n36 = \"of\"\n", "drums.36 is 'of'", "line 2"},
        {"[drums]\n36 = 128\n", "drums.36 is 128", "line 2"},
        {"[drums]\n200 = 1\n", "drums.200 is 1; name a drum by its number", "line 2"},
        {"[song\n", "not valid TOML", "line 1"},
        {"[[channel]]\nchannel = 1\n" + deep + "a = 1\n", "more than 8 dots", "line 3"},
        {"a = " + std::string(100'000, '['), "more than 16 brackets", "line 1"},
        {"tempo_factor = 1\n", "no key \"tempo_factor\"", "line 1"}}) {
    try {
      (void)parse_arrangement(it.toml, "a.toml");
      ADD_FAILURE() << "taken: " << it.toml;
    } catch (const Error& error) {
      const std::string said = error.what();
      EXPECT_EQ(error.fault(), Fault::bad_input);
      EXPECT_NE(said.find(it.what), std::string::npos) << said;
      EXPECT_NE(said.find(std::string("a.toml, ") + it.where), std::string::npos) << said;
      EXPECT_EQ(said.find('\n'), std::string::npos);
    }
  }
}

TEST(Summary, SaysWhoIsOnTopAndAtTheBottom) {
  const auto channels = summarise(small_score(), {"", "Tune\n", "Chords"});
  ASSERT_EQ(channels.size(), 4u);
  EXPECT_EQ(channels[0].name, "Tune\n");
  EXPECT_EQ(channels[0].on_top_s, 4);
  EXPECT_EQ(channels[1].most_at_once, 2);
  EXPECT_EQ(channels[1].sounding_s, 5);
  EXPECT_EQ(channels[1].at_bottom_s, 4);  // from 1 to 5, then the bass
  EXPECT_TRUE(channels[3].drums);
  EXPECT_EQ(suggested_roles(channels).lead, 1);
  EXPECT_EQ(suggested_roles(channels).bass, 2);
}

TEST(Suggestion, ParsesWhateverTheNames) {
  Score score = small_score();
  score.title = "\"\"\" \n[song]\n # \x01";
  const auto channels = summarise(score, {"", "]]\nchannel = 9", "\xFF"});
  const std::string text = suggest_arrangement(score, channels);
  const Arrangement arrangement = parse_arrangement(text, "suggested");
  EXPECT_EQ(arrangement.channels.size(), 4u);
  EXPECT_EQ(arrangement.channels[0].role, Part::lead);
  EXPECT_EQ(keys_of(arranged(score, arrangement)), keys_of(score));
}

TEST(Suggestion, OfTheBundledSongNamesMelodyAndBass) {
  const Score score = read_midi_score(BURSTLOOM_SAMPLES "/quayside-lanterns.mid");
  const Roles roles = suggested_roles(summarise(score, {}));
  EXPECT_EQ(roles.lead, 1);
  EXPECT_EQ(roles.bass, 4);
}

}  // namespace
}  // namespace burstloom
