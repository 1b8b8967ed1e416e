// What a listener is promised, from notes to the placed stream: pitch, onsets, and the melody kept when much
// must go.
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "burstloom/guard/guard.hpp"
#include "burstloom/guard/voice_report.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "support/chord_tests.hpp"
#include "support/delay_until_free.hpp"
#include "support/placing_cost.hpp"

namespace burstloom {
namespace {

const std::string kSamples = BURSTLOOM_SAMPLES;
constexpr double kTickHz = kDefaultTickHz;

Profile bundled(const std::string& coil) {
  return read_profile(kSamples + "/coils/" + coil);
}

struct Woven {
  Score score;
  Wanted wanted;
  Guarded guarded;
};

Woven woven(Score score, const Profile& profile, const WeaveOptions& options) {
  Woven it{std::move(score), {}, {}};
  it.wanted = wanted_from_score(it.score, profile, options);
  it.guarded = place(it.wanted.bursts, profile, options.tick_hz, it.wanted.length);
  return it;
}

// The slope of a straight line through moments by the train's own index, gaps where bursts were dropped
// counted in.
class Fit {
 public:
  void add(double index, double at) { ++n_, x_ += index, y_ += at, xx_ += index * index, xy_ += index * at; }
  [[nodiscard]] double count() const { return n_; }
  [[nodiscard]] double slope() const { return (n_ * xy_ - x_ * y_) / (n_ * xx_ - x_ * x_); }

 private:
  double n_ = 0, x_ = 0, y_ = 0, xx_ = 0, xy_ = 0;
};

// The worst error in cents of all notes that sound for half a second or longer, without bend or vibrato.
double worst_cents(const Woven& it) {
  std::map<std::uint32_t, Fit> fits;
  std::map<std::uint32_t, double> index;
  std::map<std::uint32_t, Tick> first;
  std::vector<Tick> played(it.wanted.bursts.size(), -1);
  for (std::size_t i = 0; i < it.guarded.wanted_of.size(); ++i)
    played[it.guarded.wanted_of[i]] = it.guarded.stream.bursts[i].start;
  for (std::size_t i = 0; i < played.size(); ++i) {
    const std::uint32_t note = it.wanted.bursts[i].note;
    const double k = index[note]++;
    if (k == 0) first[note] = it.wanted.bursts[i].start;
    if (played[i] >= 0) fits[note].add(k, static_cast<double>(played[i] - first[note]));
  }
  double worst = 0;
  int judged = 0;
  for (const NoteFate& fate : it.wanted.fates) {
    const Note& note = it.score.notes[fate.note];
    if (fate.what != NoteFateKind::played && fate.what != NoteFateKind::folded) continue;
    if (fate.to_s - fate.from_s < 0.5 - 1e-9 || note.part == Part::drums ||
        note.envelope == Envelope::plucked)
      continue;
    const double hz = kTickHz / fits.at(fate.note).slope();
    worst = std::max(worst, std::abs(1200 * std::log2(hz / key_hz(note.key + 12 * fate.octaves))));
    ++judged;
  }
  EXPECT_GT(judged, 0);
  std::printf("%d notes, worst %.3f cents\n", judged, worst);
  return worst;
}

TEST(WeavingHolds, EachVoicesPitchWithinACent) {
  EXPECT_LE(worst_cents(woven(testing::triads(), testing::chord_coil(), {.voices = 3})), 1.0);
  EXPECT_LE(worst_cents(woven(testing::four_voices(), testing::chord_coil(), {.voices = 4})), 1.0);
  for (const char* coil :
       {"bench-36v.toml", "half-bridge-325v.toml", "full-bridge-560v.toml", "continuous-36v.toml"})
    EXPECT_LE(worst_cents(woven(read_midi_score(kSamples + "/quayside-lanterns.mid"), bundled(coil), {})),
              1.0)
        << coil;
}

TEST(WeavingHolds, OnsetsWithinAPeriodOrFiveMilliseconds) {
  const Woven it =
      woven(read_midi_score(kSamples + "/quayside-lanterns.mid"), bundled("half-bridge-325v.toml"), {});
  std::map<std::uint32_t, const WantedBurst*> first;
  for (const WantedBurst& burst : it.wanted.bursts) first.try_emplace(burst.note, &burst);
  ASSERT_GT(first.size(), 50u);
  for (const NoteFate& fate : it.wanted.fates) {
    if (fate.what != NoteFateKind::played && fate.what != NoteFateKind::folded) continue;
    const Note& note = it.score.notes[fate.note];
    if (note.part == Part::drums) continue;
    const double late_s = static_cast<double>(first.at(fate.note)->start) / kTickHz - note.start_s;
    EXPECT_GE(late_s, -1 / kTickHz);
    EXPECT_LE(late_s, std::min(0.005, 1 / key_hz(note.key + 12 * fate.octaves)) + 1 / kTickHz);
  }
}

struct Kept {
  double lead = 0, all = 0;  // parts of the bursts wanted
};

Kept kept_of(const Woven& it, const std::vector<bool>& leads) {
  double lead = 0, lead_kept = 0;
  for (const WantedBurst& burst : it.wanted.bursts) lead += leads[burst.note];
  for (const std::uint32_t w : it.guarded.wanted_of) lead_kept += leads[it.wanted.bursts[w].note];
  return {lead_kept / lead,
          static_cast<double>(it.guarded.wanted_of.size()) / static_cast<double>(it.wanted.bursts.size())};
}

// A melody over a bass and an accompaniment above it in rate, so that half can go without the melody: the
// lead is stated by its channel alone, and softer than the rest.
Score melody_over_chords() {
  Score score;
  for (int i = 0; i < 32; ++i) {
    const double at = i * 0.25;
    score.notes.push_back({at, at + 0.25, 72.0 + (i * 5) % 8, 0.5, 0});
    if (i % 4 != 0) continue;
    for (const double key : {45.0, 64.0, 67.0, 69.0})
      score.notes.push_back({at, at + 1, key + i / 4 % 3, 0.9, 1});
  }
  score.length_s = 8;
  std::stable_sort(score.notes.begin(), score.notes.end(),
                   [](const Note& a, const Note& b) { return a.start_s < b.start_s; });
  return score;
}

template <class Tighten>
void expect_melody_kept_by(const char* limit, Tighten tighten) {
  const Score score = melody_over_chords();
  std::vector<bool> leads;
  for (const Note& note : score.notes) leads.push_back(note.channel == 0);
  Kept kept;
  for (double by = 1; by < 20; by *= 1.03) {
    Profile profile = testing::chord_coil();
    tighten(profile, by);
    kept = kept_of(woven(score, profile, {.voices = 5}), leads);
    if (kept.all <= 0.5) break;
  }
  EXPECT_LE(kept.all, 0.5) << limit;
  EXPECT_GT(kept.all, 0.45) << limit;
  EXPECT_GE(kept.lead, 0.95) << limit;
  std::printf("%s: %.1f %% of all bursts left, %.1f %% of the melody's\n", limit, 100 * kept.all,
              100 * kept.lead);
}

TEST(WeavingHolds, TheMelodyKeepsItsBurstsWhenHalfMustGo) {
  expect_melody_kept_by("break rate", [](Profile& p, double by) { p.limits.break_rate_hz = 2200 / by; });
  expect_melody_kept_by("duty", [](Profile& p, double by) { p.limits.duty = {{100, 9 / by}}; });
  expect_melody_kept_by("gap", [](Profile& p, double by) { p.limits.gap_us = 100 * by; });
}

// The aims: where the cap binds at most a quarter of the bursts that delay-until-free loses, and where it
// does not at most three quarters of its move; the same music at the same limits and the same cap.
void expect_aims(const Score& score, const Profile& profile, int voices, const std::string& what) {
  const auto delayed = [&](double cap) {
    const Wanted plain =
        wanted_from_score(score, profile, {.voices = voices, .cap_of_period = cap, .choose_phase = false});
    const auto gap = static_cast<Tick>(std::ceil(command_limits(profile).gap_us * kTickHz / 1e6 - 1e-6));
    return testing::delay_until_free(plain.bursts, gap);
  };
  const auto placed = [&](double cap) {
    const Woven it = woven(score, profile, {.voices = voices, .cap_of_period = cap});
    return testing::placing_cost(it.wanted.bursts, it.guarded);
  };
  EXPECT_GT(delayed(0.1).lost, 0u) << what;
  EXPECT_LE(placed(0.1).lost * 4, static_cast<double>(delayed(0.1).lost)) << what;
  EXPECT_LE(placed(0.5).rms_move, 0.75 * delayed(0.5).rms_move) << what;
}

TEST(WeavingHolds, PlacingBeatsDelayUntilFreeByTheStatedAims) {
  expect_aims(testing::triads(), testing::chord_coil(), 3, "triads");
  expect_aims(testing::four_voices(), testing::chord_coil(), 4, "four voices");
  for (const char* coil :
       {"bench-36v.toml", "half-bridge-325v.toml", "full-bridge-560v.toml", "continuous-36v.toml"}) {
    Profile profile = bundled(coil);
    profile.limits.duty = {{1000, 100}};
    profile.limits.break_rate_hz.reset();
    expect_aims(read_midi_score(kSamples + "/quayside-lanterns.mid"), profile, 3, coil);
  }
}

TEST(WeavingHolds, TheSameSongGivesTheSameStream) {
  const auto once = [] {
    return woven(read_midi_score(kSamples + "/quayside-lanterns.mid"), bundled("bench-36v.toml"), {})
        .guarded.stream;
  };
  EXPECT_EQ(once(), once());
}

}  // namespace
}  // namespace burstloom
