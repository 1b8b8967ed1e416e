// The engine by itself: messages in, bursts out.
#include "burstloom/live/engine.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <map>
#include <numeric>

#include "allocations.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/guard/guard.hpp"
#include "play.hpp"
#include "support/random_profiles.hpp"

namespace burstloom {
namespace {

using namespace testing;

const std::string kSamples = BURSTLOOM_SAMPLES;

Profile coil(const std::string& name) {
  return read_profile(kSamples + "/coils/" + name + ".toml");
}

std::vector<TimedMessage> song_messages() {
  const Bytes bytes = read_file(kSamples + "/quayside-lanterns.mid", kLargestMidiFile);
  return messages_of(parse_midi(bytes, "quayside-lanterns.mid"));
}

std::vector<double> starts_s(const Played& played) {
  std::vector<double> all;
  for (const Burst& burst : played.stream.bursts) all.push_back(played.stream.seconds(burst.start));
  return all;
}

TEST(LiveEngine, ANoteSoundsAtItsRateFromItsKeyToItsEnd) {
  const Played played = play({on(0.5, 69), off(1.5, 69)}, coil("bench-36v"));
  ASSERT_EQ(played.stream.bursts.size(), 440u);
  EXPECT_EQ(played.stream.bursts.front().start, 1'000'000);
  const std::vector<double> at = starts_s(played);
  EXPECT_NEAR((at.back() - at.front()) / 439, 1 / 440.0, 1e-8);
  EXPECT_LT(at.back(), 1.5);
  EXPECT_EQ(judge(played.stream, coil("bench-36v")).verdict, Verdict::within_limits);
  EXPECT_EQ(played.state.sounding_count, 0u);
}

TEST(LiveEngine, PedalsHoldAndAllSoundOffEnds) {
  const auto last_s = [](const std::vector<TimedMessage>& messages) {
    return starts_s(play(messages, coil("bench-36v"), {}, 3)).back();
  };
  EXPECT_LT(last_s({on(0, 69), off(0.2, 69)}), 0.2);
  EXPECT_NEAR(last_s({message(0, 0xB0, 64, 127), on(0, 69), off(0.2, 69), message(1, 0xB0, 64, 0)}), 1, 0.01);
  EXPECT_NEAR(last_s({message(0, 0xB0, 64, 127), on(0, 69), off(0.2, 69), message(0.5, 0xB0, 120, 0)}), 0.5,
              0.01);
}

TEST(LiveEngine, EndAllEndsAllAndLetsThePedalsUp) {
  LiveEngine engine(coil("bench-36v"), {});
  Played played;
  const auto hear = [&](const TimedMessage& it) {
    EXPECT_TRUE(engine.hear(nearest_tick(it.at_s, 2'000'000), it.message.span()));
  };
  hear(message(0, 0xB0, 64, 127));
  for (const std::uint8_t key : std::vector<std::uint8_t>{50, 62, 69, 74, 81}) hear(on(0, key));
  hear(on(0.45, 49, 100, 9));  // a cymbal of half a second
  make_until(engine, 1'000'000, played);
  EXPECT_GT(engine.state().sounding_count, 2u);
  engine.end_all(1'000'000);
  make_until(engine, 4'000'000, played);
  EXPECT_LT(played.all.back().wanted_start, 1'000'000);
  EXPECT_EQ(engine.state().sounding_count, 0u);
  hear(on(2, 69));
  hear(off(2.1, 69));
  make_until(engine, 8'000'000, played);
  EXPECT_LT(played.all.back().wanted_start, 4'200'000);
}

TEST(LiveEngine, NoNoteIsStuck) {
  const Played played = play({on(0, 69)}, coil("bench-36v"), {}, 200);
  EXPECT_NEAR(starts_s(played).back(), kLongestLiveNote_s, 0.01);
}

TEST(LiveEngine, DropsNothingOfWhatItCannotHold) {
  LiveEngine engine(coil("bench-36v"), {});
  const std::array<std::uint8_t, 3> bend{0xE0, 0, 64};
  for (int i = 0; i < 4096; ++i) EXPECT_TRUE(engine.hear(0, bend));
  EXPECT_FALSE(engine.hear(0, bend));
  engine.end_all(5);
  EXPECT_TRUE(engine.hear(10, bend));
}

TEST(LiveEngine, WhatIsNoMessageDoesNothing) {
  const std::vector<std::vector<std::uint8_t>> odd = {
      {},    {0x90}, {0x90, 60}, {0x90, 60, 100, 1}, {0x90, 200, 100}, {60, 100}, {0xF8}, {0xF0, 1, 2, 0xF7},
      {0xC0}};
  LiveEngine engine(coil("bench-36v"), {});
  for (const auto& message : odd) EXPECT_TRUE(engine.hear(0, message));
  Played played;
  make_until(engine, 1'000'000, played);
  EXPECT_TRUE(played.all.empty());
  EXPECT_EQ(engine.state().notes, 0);
}

TEST(LiveEngine, SoftStartHoldsTheLongestBurst) {
  LiveEngine engine(coil("bench-36v"), {});
  Played played;
  (void)engine.hear(0, on(0, 69, 127).message.span());
  engine.set_longest_on(12);
  make_until(engine, 1'000'000, played);
  for (const Burst& burst : played.stream.bursts) EXPECT_LE(burst.on, 12);
  EXPECT_EQ(engine.state().longest_on_allowed, 12);
  const std::size_t soft = played.stream.bursts.size();
  engine.set_longest_on(1'000'000);
  make_until(engine, 2'000'000, played);
  EXPECT_GT(played.stream.bursts[soft].on, 12);
  EXPECT_EQ(judge({2'000'000, 2'000'000, played.stream.bursts}, coil("bench-36v")).verdict,
            Verdict::within_limits);
}

TEST(LiveEngine, AnArrangementsLinesHoldAndItsTimesAreRefused) {
  LiveOptions options;
  options.arrangement.channels = {Line{}, Line{}};
  options.arrangement.channels[0].number = 1;
  options.arrangement.channels[0].on = false;
  options.arrangement.channels[1].number = 2;
  options.arrangement.channels[1].transpose = 12;
  const Played played =
      play({on(0, 69), on(0, 57, 100, 1), off(1, 69), off(1, 57, 1)}, coil("bench-36v"), options);
  EXPECT_NEAR(static_cast<double>(played.stream.bursts.size()), 440, 1);
  EXPECT_EQ(played.state.skipped, 1);
  options.arrangement.tempo_factor = 2;
  EXPECT_THROW(LiveEngine(coil("bench-36v"), options), Error);
  options.arrangement.tempo_factor = 1;
  options.arrangement.channels[1].voices = 2;
  EXPECT_THROW(LiveEngine(coil("bench-36v"), options), Error);
  EXPECT_THROW(LiveEngine(coil("bench-36v"), {{50'000}, {}}), Error);
  EXPECT_THROW(LiveEngine(coil("bench-36v"), {{2'000'000, 17}, {}}), Error);
}

TEST(LiveEngine, ABundledSongIsWithinLimitsOnEveryBundledCoil) {
  for (const char* name : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"}) {
    const Played played = play(song_messages(), coil(name), {}, 2);
    EXPECT_GT(played.stream.bursts.size(), 20'000u) << name;
    EXPECT_EQ(judge(played.stream, coil(name)).verdict, Verdict::within_limits) << name;
  }
}

// One line of music, stated to lead: nothing is left to foresight but the limits, and the gap alone binds.
TEST(LiveEngine, AMelodyComesOutAsItIsWovenFromAFile) {
  Profile profile = coil("bench-36v");
  profile.limits.duty = {{1000, 90}};
  profile.limits.supply_w.reset();
  profile.limits.tank_capacitor_a_rms.reset();
  profile.limits.junction_c.reset();
  profile.limits.heatsink_c.reset();
  profile.limits.break_rate_hz.reset();
  std::vector<TimedMessage> messages = {message(0, 0xB0, 7, 90)};
  std::uint32_t random = 7;
  for (int i = 0; i < 200; ++i) {
    random = random * 1664525u + 1013904223u;
    const double at_s = 0.1 + 0.25 * i;
    const auto key = static_cast<std::uint8_t>(50 + random / 65536 % 30);
    messages.push_back(on(at_s, key, static_cast<std::uint8_t>(40 + random / 256 % 80)));
    // Bends and vibrato in mid-note: where the middle of a period falls decides.
    for (int k = 1; k < 12; ++k)
      messages.push_back(
          message(at_s + 0.0123 * k, 0xE0, 0, static_cast<std::uint8_t>(64 + (random >> k) % 20)));
    messages.push_back(message(at_s + 0.16, 0xB0, 1, static_cast<std::uint8_t>(random / 4096 % 128)));
    messages.push_back(off(at_s + 0.2, key));
  }
  LiveOptions options;
  options.arrangement.channels = {Line{}};
  options.arrangement.channels[0].number = 1;
  options.arrangement.channels[0].role = Part::lead;
  const Played live = play(messages, profile, options);

  // What a file's reader makes of the same messages, by way of a file.
  Bytes track;
  std::uint64_t ticks = 0;
  for (const TimedMessage& it : messages) {
    const auto at = static_cast<std::uint64_t>(std::llround(it.at_s / kLiveStep_s));
    std::uint64_t delta = at - ticks;
    ticks = at;
    Bytes length;
    do {
      length.insert(length.begin(), static_cast<std::uint8_t>((delta & 0x7F) | (length.empty() ? 0 : 0x80)));
      delta >>= 7;
    } while (delta != 0);
    track.insert(track.end(), length.begin(), length.end());
    track.insert(track.end(), it.message.span().begin(), it.message.span().end());
  }
  for (const int byte : {0x00, 0xFF, 0x2F, 0x00}) track.push_back(static_cast<std::uint8_t>(byte));
  Bytes file = {'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, 0, 0, 1, 25'000 >> 8, 25'000 & 0xFF, 'M', 'T', 'r', 'k'};
  for (int shift = 24; shift >= 0; shift -= 8)
    file.push_back(static_cast<std::uint8_t>(track.size() >> shift));
  file.insert(file.end(), track.begin(), track.end());
  const Score score = arranged(score_of(parse_midi(file, "take.mid"), "take"), options.arrangement);
  const Wanted wanted = wanted_from_score(score, profile, options.weave);
  const Guarded guarded = place(wanted.bursts, profile, 2'000'000, wanted.length, Placing::causal);
  ASSERT_GT(guarded.stream.bursts.size(), 5'000u);
  ASSERT_EQ(live.stream.bursts.size(), guarded.stream.bursts.size());
  for (std::size_t i = 0; i < live.stream.bursts.size(); ++i)
    ASSERT_EQ(live.stream.bursts[i], guarded.stream.bursts[i]) << "burst " << i;
}

// A loud chord that asks for several times what the windows allow, held: softer, but every burst is there,
// and from one burst of a voice to the next nothing jumps.
TEST(LiveEngine, LimitsTurnDownAndNeverChop) {
  for (const char* name : {"bench-36v", "half-bridge-325v"}) {
    Profile profile = coil(name);
    profile.limits.duty = {{10, 3}, {1000, 1.2}};
    profile.limits.break_rate_hz.reset();
    std::vector<TimedMessage> messages;
    for (const std::uint8_t key : std::vector<std::uint8_t>{57, 64, 69})
      messages.push_back(on(0.1, key, 127));
    const Played played = play(messages, profile, {}, 12);
    EXPECT_EQ(judge(played.stream, profile).verdict, Verdict::within_limits);
    EXPECT_LT(played.state.gain, 0.9) << "nothing was asked of it";
    std::int64_t dropped_by_duty = 0;
    std::map<std::uint16_t, Tick> last;
    double biggest_step = 0;
    for (const LiveBurst& burst : played.all) {
      if (burst.fate == Fate::dropped) {
        // Where there is no gap for a burst it goes, as everywhere.
        dropped_by_duty += (burst.causes & bit(Cause::gap)) == 0 ? 1 : 0;
        continue;
      }
      if (burst.start > 400'000 && last.contains(burst.voice))
        biggest_step = std::max(biggest_step, std::abs(static_cast<double>(burst.on - last[burst.voice])));
      last[burst.voice] = burst.on;
    }
    EXPECT_EQ(dropped_by_duty, 0) << name;
    EXPECT_LE(biggest_step, 6) << name << ": more than 3 us from one burst to the next";
    // Softer, not silent: most of the allowance is used.
    Tick on = 0;
    for (const Burst& burst : played.stream.bursts)
      if (burst.start > 10'000'000 && burst.start < 20'000'000) on += burst.on;
    EXPECT_GT(static_cast<double>(on) / 10'000'000, 0.7 * 0.012) << name;
  }
}

TEST(LiveEngine, MoreNotesThanTheBreakRateAllowsAreThinnedEvenlyTheLeadLast) {
  Profile profile = coil("bench-36v");
  profile.limits.break_rate_hz = 700;
  const Played played = play({on(0, 57), on(0, 60), on(0, 69, 127)}, profile, {}, 3);
  EXPECT_EQ(judge(played.stream, profile).verdict, Verdict::within_limits);
  std::map<std::uint32_t, std::pair<int, int>> kept_of;  // kept, all
  for (const LiveBurst& burst : played.all) {
    ++kept_of[burst.note].second;
    kept_of[burst.note].first += burst.fate == Fate::dropped ? 0 : 1;
  }
  EXPECT_GT(kept_of[2].first, 0.97 * kept_of[2].second);
  EXPECT_LT(kept_of[1].first, 0.9 * kept_of[1].second);
  EXPECT_GT(kept_of[0].first + kept_of[1].first, 200);
}

std::vector<TimedMessage> random_messages(std::size_t count) {
  const double span_s = *rc::gen::element(0.01, 1.0, 8.0);
  const auto seed = *rc::gen::arbitrary<std::uint64_t>();
  std::uint64_t state = seed | 1;
  const auto below = [&state](std::uint64_t limit) {
    state ^= state << 13, state ^= state >> 7, state ^= state << 17;
    return state % limit;
  };
  std::vector<TimedMessage> messages;
  std::vector<double> times;
  for (std::size_t i = 0; i < count; ++i)
    times.push_back(span_s * static_cast<double>(below(1'000'001)) / 1e6);
  std::sort(times.begin(), times.end());
  constexpr std::uint8_t kinds[] = {0x90, 0x90, 0x90, 0x80, 0x80, 0xB0, 0xC0, 0xD0, 0xE0};
  constexpr std::uint8_t controllers[] = {1, 7, 11, 64, 66, 120, 121, 123, 6, 100, 101};
  for (const double at_s : times) {
    const std::uint8_t kind = kinds[below(std::size(kinds))];
    auto first = static_cast<std::uint8_t>(below(128));
    if (kind == 0xB0 && below(4) != 0) first = controllers[below(std::size(controllers))];
    TimedMessage it = message(at_s, static_cast<std::uint8_t>(kind | below(16)), first,
                              static_cast<std::uint8_t>(below(128)));
    if (kind == 0xC0 || kind == 0xD0) it.message.size = 2;
    messages.push_back(it);
  }
  return messages;
}

RC_GTEST_PROP(LiveEngine, NothingThatIsPlayedPassesALimit, ()) {
  const Profile profile = random_profile();
  LiveOptions options;
  options.weave.voices = *rc::gen::inRange(1, 17);
  options.weave.tick_hz = *rc::gen::element<std::int64_t>(2'000'000, 1'000'000, 16'000'000);
  const auto messages = random_messages(*rc::gen::inRange<std::size_t>(0, 400));
  const Played played = play(messages, profile, options);
  const Judgement judgement = judge(played.stream, profile);
  RC_ASSERT(judgement.violations.empty());
  const LiveState& state = played.state;
  RC_ASSERT(std::accumulate(state.bursts.begin(), state.bursts.end(), std::int64_t{0}) ==
            static_cast<std::int64_t>(played.all.size()));
}

// With heat, supply and tank current: on the bundled coils, made narrower.
RC_GTEST_PROP(LiveEngine, NothingThatIsPlayedPassesHeatOrSupply, ()) {
  Profile profile = coil(*rc::gen::element<std::string>("bench-36v", "half-bridge-325v", "full-bridge-560v"));
  const double part = between(0.02, 1);
  *profile.limits.supply_w *= part;
  if (profile.limits.tank_capacitor_a_rms) *profile.limits.tank_capacitor_a_rms *= between(0.1, 1);
  const double ambient_c = profile.heatsink.ambient_c;
  *profile.limits.heatsink_c = ambient_c + (*profile.limits.heatsink_c - ambient_c) * between(0.01, 1);
  *profile.limits.junction_c = ambient_c + (*profile.limits.junction_c - ambient_c) * between(0.05, 1);
  const Played played = play(random_messages(200), profile);
  RC_ASSERT(judge(played.stream, profile).violations.empty());
}

RC_GTEST_PROP(LiveEngine, HowOftenItIsAskedChangesNothing, ()) {
  const auto messages = random_messages(100);
  const Profile profile = coil("bench-36v");
  const Played whole = play(messages, profile);
  LiveEngine engine(profile, {});
  Played pieces;
  Tick now = 0;
  std::size_t next = 0;
  while (now < whole.stream.length) {
    now += *rc::gen::inRange<Tick>(1, 40'000);
    now = std::min(now, whole.stream.length);
    // All that is heard before the moment, then what comes of it, a few at a time.
    for (; next < messages.size() && nearest_tick(messages[next].at_s, 2'000'000) <= now; ++next)
      RC_ASSERT(engine.hear(nearest_tick(messages[next].at_s, 2'000'000), messages[next].message.span()));
    make_until(engine, now, pieces, 1 + static_cast<std::size_t>(now % 7));
  }
  RC_ASSERT(pieces.stream.bursts == whole.stream.bursts);
}

TEST(LiveEngine, AllocatesNothingOnceItStands) {
  const auto messages = song_messages();
  LiveEngine engine(coil("half-bridge-325v"), {});
  std::array<LiveBurst, 64> some;
  std::int64_t bursts = 0;
  const std::int64_t before = allocations();
  for (const TimedMessage& it : messages) {
    const Tick now = nearest_tick(it.at_s, 2'000'000);
    for (std::size_t made = some.size(); made == some.size(); bursts += static_cast<std::int64_t>(made))
      made = engine.make(now, some);
    (void)engine.hear(now, it.message.span());
    (void)engine.state();
  }
  EXPECT_EQ(allocations(), before);
  EXPECT_GT(bursts, 50'000);
  const auto* memory = new int(1);
  EXPECT_EQ(allocations(), before + 1) << "the counter counts";
  delete memory;
}

}  // namespace
}  // namespace burstloom
