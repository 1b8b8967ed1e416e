// Turn after turn in made-up time: whatever comes in on the ports, what goes out keeps every limit by the
// judge's own sums, nothing hangs, and the recording is what went out.
#include "burstloom/live/performance.hpp"

#include <gtest/gtest.h>

#include <random>

#include "allocations.hpp"
#include "burstloom/check/judge.hpp"
#include "burstloom/live/outlet.hpp"
#include "burstloom/live/recording.hpp"
#include "burstloom/live/replay.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom {
namespace {

constexpr std::uint8_t kChord[] = {60, 64, 67}, kLow[] = {40, 45, 52};
constexpr double kTurn_s = 0.001, kLatency_s = 0.01;
constexpr const char* kCoil = BURSTLOOM_SAMPLES "/coils/bench-36v.toml";

LiveOptions options_for(const Profile& profile) {
  LiveOptions options;
  options.weave.voices = profile.voices;
  return options;
}

// Ports, a performance, and whoever takes its bursts.
class Stage {
 public:
  explicit Stage(std::size_t link_room = 4096, std::size_t recording_room = 1 << 16)
      : profile(read_profile(kCoil)),
        to_link(link_room),
        to_recording(recording_room),
        recording(profile, kDefaultTickHz),
        performance(LiveEngine(profile, options_for(profile)), std::vector<Inlet*>{&keys, &pads}, kLatency_s,
                    controls, to_link, to_recording) {
    controls.longest_on.store(1'000'000);
  }

  void turn() {
    const std::int64_t before = testing::allocations();
    performance.turn(now_s, plays ? std::optional(static_cast<Tick>(now_s * kDefaultTickHz)) : std::nullopt);
    allocated += testing::allocations() - before;
    if (link_takes)
      for (Burst burst; to_link.pop(burst);) sent.push_back(burst);
    for (Recorded entry; to_recording.pop(entry);) recording.add(entry);
    now_s += kTurn_s;
  }
  void run(double seconds) {
    for (const double end_s = now_s + seconds; now_s < end_s;) turn();
  }
  void say(Inlet& port, const std::vector<std::uint8_t>& bytes) { port.hear(now_s, bytes); }
  void chord(Inlet& port) {
    for (const std::uint8_t key : kChord) say(port, {0x90, key, 100});
  }
  // The moment at which the last burst ends, in seconds before now.
  [[nodiscard]] double silent_for_s() const {
    return sent.empty() ? now_s : now_s - static_cast<double>(sent.back().end()) / kDefaultTickHz;
  }
  [[nodiscard]] Judgement judged() {
    recording.reach(performance.figures().now);
    const BurstStream stream = recording.stream("").stream;
    EXPECT_EQ(stream.bursts, sent) << "what is recorded is what went out";
    require_in_order(stream, "recording");
    return judge(stream, profile);
  }

  Profile profile;
  Inlet keys, pads;
  LiveControls controls;
  Ring<Burst> to_link;
  Ring<Recorded> to_recording;
  LiveRecording recording;
  Performance performance;
  double now_s = 0;
  bool plays = true, link_takes = true;
  std::vector<Burst> sent;
  std::int64_t allocated = 0;
};

TEST(Performance, ANoteSoundsAfterTheLatencyAndEndsWithItsKey) {
  Stage stage;
  stage.run(0.1);
  const double pressed_s = stage.now_s;
  stage.say(stage.keys, {0x90, 69, 100});
  stage.run(0.5);
  ASSERT_FALSE(stage.sent.empty());
  EXPECT_NEAR(static_cast<double>(stage.sent.front().start) / kDefaultTickHz, pressed_s + kLatency_s,
              kMidiRecordingStep_s + 0.005);  // kLatestOnset_s
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 1u);
  EXPECT_EQ(stage.performance.figures().ports[0].keys_down, 1u);
  stage.say(stage.keys, {0x80, 69, 0});
  stage.run(0.2);
  EXPECT_GT(stage.silent_for_s(), 0.18 - kLatency_s);
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
  EXPECT_EQ(stage.allocated, 0);
}

// What comes late to the real-time thread still counts at the moment at which it came to the port.
TEST(Performance, RhythmIsThatOfThePort) {
  Stage stage;
  const auto onset_when = [&](double late_s) {
    stage.run(0.5);
    const double at_s = stage.now_s;
    stage.now_s += late_s;
    const std::size_t before = stage.sent.size();
    const std::uint8_t on[] = {0x90, 69, 100}, off[] = {0x80, 69, 0};
    stage.keys.hear(at_s, on);
    stage.run(0.1);
    stage.keys.hear(stage.now_s, off);
    return static_cast<double>(stage.sent.at(before).start) / kDefaultTickHz - at_s;
  };
  const double in_time_s = onset_when(0);
  EXPECT_NEAR(onset_when(0.008), in_time_s, kMidiRecordingStep_s);
}

TEST(Performance, WhatIsHeardBeforeThePlayerPlaysIsForgotten) {
  Stage stage;
  stage.plays = false;
  stage.chord(stage.keys);
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().ports[0].keys_down, 3u);
  stage.plays = true;
  stage.run(0.5);
  EXPECT_TRUE(stage.sent.empty());
}

TEST(Performance, APatchSetBeforeThePlayerPlaysHolds) {
  const auto loudest = [](std::uint8_t volume) {
    Stage stage;
    stage.plays = false;
    for (int i = 0; i < 6000; ++i) {  // more than the engine keeps waiting
      stage.say(stage.keys, {0xE0, 0, 64});
      stage.turn();
    }
    stage.say(stage.keys, {0xB0, 7, volume});
    stage.run(0.1);
    stage.plays = true;
    stage.now_s = 0;
    stage.chord(stage.keys);
    stage.run(0.5);
    stage.controls.ending.store(true);
    stage.run(0.1);
    EXPECT_EQ(stage.allocated, 0);
    const Bytes midi = stage.recording.midi("take");
    EXPECT_EQ(played_live(messages_of(parse_midi(midi, "take.mid")), stage.now_s, stage.profile,
                          options_for(stage.profile))
                  .bursts(),
              stage.sent);
    Tick most = 0;
    for (const Burst& burst : stage.sent) most = std::max(most, burst.on);
    return most;
  };
  EXPECT_LT(loudest(40), loudest(127));
}

TEST(Performance, SystemResetEndsAllAndTheRecordingSaysSo) {
  Stage stage;
  stage.chord(stage.keys);
  stage.run(0.2);
  stage.say(stage.keys, {0xFF});
  stage.run(0.2);
  EXPECT_GT(stage.silent_for_s(), 0.17);
  const Bytes midi = stage.recording.midi("take");
  EXPECT_EQ(played_live(messages_of(parse_midi(midi, "take.mid")), stage.now_s, stage.profile,
                        options_for(stage.profile))
                .bursts(),
            stage.sent);
}

TEST(Performance, TheClockIsASignOfLifeAndNoMusic) {
  Stage stage;
  stage.say(stage.keys, {0xFE});
  stage.chord(stage.keys);
  for (int i = 0; i < 10; ++i) {
    stage.run(0.1);
    stage.say(stage.keys, {0xF8});
  }
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 3u);
  EXPECT_EQ(stage.performance.figures().ports[0].messages, 3);
}

TEST(Performance, UnpluggingInMidChordEndsItsNotesAndNoOthers) {
  Stage stage;
  for (const std::uint8_t key : {std::uint8_t{60}, std::uint8_t{64}}) stage.say(stage.keys, {0x90, key, 100});
  stage.say(stage.keys, {0xB0, 64, 127});
  stage.say(stage.pads, {0x91, 72, 100});
  stage.run(0.5);
  stage.keys.device_gone(stage.now_s);
  stage.run(0.5);
  EXPECT_EQ(stage.performance.figures().ports[0].losses, 1);
  ASSERT_EQ(stage.performance.figures().engine.sounding_count, 1u);
  EXPECT_EQ(stage.performance.figures().engine.sounding[0].key, 72);
  stage.pads.device_gone(stage.now_s);
  stage.run(0.1);
  EXPECT_GT(stage.silent_for_s(), 0.08 - kLatency_s);
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
}

TEST(Performance, ASenderThatLeavesItsKeysDownIsALossAndOneThatLeavesNoneIsNot) {
  Stage stage;
  stage.keys.sender_left(stage.now_s);
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().ports[0].losses, 0);
  stage.chord(stage.keys);
  stage.run(0.2);
  stage.keys.sender_left(stage.now_s);
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().ports[0].losses, 1);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
  EXPECT_GT(stage.silent_for_s(), 0.09 - kLatency_s);
}

TEST(Performance, ADeviceThatStopsSayingItIsThereIsLetGo) {
  Stage stage;
  stage.say(stage.keys, {0xFE});
  stage.chord(stage.keys);
  stage.run(0.29);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 3u);
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
  EXPECT_EQ(stage.performance.figures().ports[0].losses, 1);
  EXPECT_GT(stage.silent_for_s(), 0.05);
}

TEST(Performance, WhatOverflowsEndsTheNotesOfItsPort) {
  Stage stage;
  stage.chord(stage.keys);
  stage.run(0.1);
  for (std::size_t i = 0; i < Inlet::kRoom; ++i)
    stage.say(stage.keys, {0xB0, 1, static_cast<std::uint8_t>(i % 128)});
  for (const std::uint8_t key : kChord) stage.say(stage.keys, {0x80, key, 0});  // there is no room
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().ports[0].gaps, 1);
  EXPECT_EQ(stage.performance.figures().ports[0].dropped, 3);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
}

TEST(Performance, SilenceHoldsUntilItIsLifted) {
  Stage stage;
  stage.chord(stage.keys);
  stage.run(0.5);
  stage.controls.silent.store(true);
  stage.run(0.1);
  EXPECT_GT(stage.silent_for_s(), 0.09 - kLatency_s);
  stage.chord(stage.keys);
  stage.run(0.2);
  EXPECT_GT(stage.silent_for_s(), 0.28 - kLatency_s);
  stage.controls.silent.store(false);
  stage.run(0.2);
  EXPECT_GT(stage.silent_for_s(), 0.48 - kLatency_s) << "keys that were down meanwhile do not sound";
  stage.chord(stage.keys);
  stage.run(0.2);
  EXPECT_LT(stage.silent_for_s(), 0.02);
  stage.controls.ending.store(true);
  stage.run(0.1);
  stage.chord(stage.keys);
  stage.run(0.1);
  EXPECT_GT(stage.silent_for_s(), 0.18 - kLatency_s);
}

TEST(Performance, NoBurstIsLongerThanSoftStartAllows) {
  Stage stage;
  const auto longest = [&] {
    stage.sent.clear();
    for (const std::uint8_t key : kLow) stage.say(stage.keys, {0x90, key, 127});
    stage.run(0.5);
    for (const std::uint8_t key : kLow) stage.say(stage.keys, {0x80, key, 0});
    stage.run(0.5);
    Tick most = 0;
    for (const Burst& burst : stage.sent) most = std::max(most, burst.on);
    return most;
  };
  EXPECT_GT(longest(), 24);
  stage.controls.longest_on.store(16);
  EXPECT_EQ(longest(), 16);
}

// A burst whose moment has passed is left out, and the account says so.
TEST(Performance, AfterAStandstillNothingIsPlayedLate) {
  Stage stage;
  stage.chord(stage.keys);
  stage.run(0.2);
  stage.now_s += 0.1;  // the machine was busy
  const double late_s = stage.now_s;
  const std::size_t before = stage.sent.size();
  stage.run(0.2);
  ASSERT_GT(stage.sent.size(), before);
  for (std::size_t i = before; i < stage.sent.size(); ++i)
    ASSERT_GE(static_cast<double>(stage.sent[i].start) / kDefaultTickHz, late_s);
  EXPECT_GT(stage.performance.figures().late, 10);
  stage.controls.ending.store(true);  // the end is shown at once
  stage.turn();
  const Account account = stage.recording.stream("").account;
  const auto& counted = stage.performance.figures().engine.bursts;
  for (std::size_t i = 1; i < kFates; ++i)
    EXPECT_EQ(counted[i], std::count_if(account.changes.begin(), account.changes.end(),
                                        [&](const Change& it) { return it.fate == static_cast<Fate>(i); }));
  EXPECT_EQ(account.limits.back(), "made too late");
  EXPECT_EQ(std::count_if(account.changes.begin(), account.changes.end(),
                          [&](const Change& change) {
                            return change.causes >> (account.limits.size() - 1) == 1 &&
                                   change.fate == Fate::dropped && !change.burst;
                          }),
            stage.performance.figures().late);
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
}

TEST(Performance, ALinkThatTakesNothingEndsItAndTheRecordingIsWhole) {
  Stage stage(64);
  stage.chord(stage.keys);
  stage.run(0.2);
  stage.link_takes = false;
  stage.run(1.0);
  EXPECT_EQ(stage.performance.figures().trouble, LiveTrouble::link_full);
  const std::size_t notes = stage.recording.notes();
  stage.link_takes = true;
  stage.chord(stage.keys);
  stage.run(0.2);
  EXPECT_EQ(stage.recording.notes(), notes) << "it stays silent";
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
}

// A thousand messages a millisecond for ten seconds: notes, pedals, bends, anything, on both ports.
TEST(Performance, AFloodPassesNoLimit) {
  Stage stage;
  std::mt19937 dice(11);
  for (int ms = 0; ms < 10'000; ++ms) {
    std::vector<std::uint8_t> bytes;
    for (int i = 0; i < 500; ++i) {
      constexpr std::uint8_t kKinds[] = {0x90, 0x90, 0x90, 0x80, 0xB0, 0xC0, 0xE0, 0xD0};
      const auto kind = kKinds[dice() % 8];
      bytes.push_back(static_cast<std::uint8_t>(kind | dice() % 16));
      bytes.push_back(static_cast<std::uint8_t>(dice() % 128));
      if (kind != 0xC0 && kind != 0xD0) bytes.push_back(static_cast<std::uint8_t>(dice() % 128));
    }
    stage.say(stage.keys, bytes);
    stage.say(stage.pads, bytes);
    stage.turn();
  }
  EXPECT_EQ(stage.performance.figures().trouble, LiveTrouble::none);
  EXPECT_GT(stage.performance.figures().ports[0].gaps, 1000);
  EXPECT_GT(stage.sent.size(), 1000u);
  EXPECT_EQ(stage.allocated, 0);
  stage.keys.device_gone(stage.now_s);
  stage.pads.device_gone(stage.now_s);
  stage.run(0.4);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
  EXPECT_GT(stage.silent_for_s(), 0.2);  // percussion rings out
  const Judgement judgement = stage.judged();
  EXPECT_EQ(judgement.verdict, Verdict::within_limits);
  EXPECT_TRUE(from_note_part(note_part(stage.recording.stream("").account, stage.recording.stream("").stream),
                             stage.recording.stream("").stream)
                  .has_value());
}

TEST(Performance, GarbageOnThePortHurtsNothing) {
  Stage stage;
  std::mt19937 dice(12);
  for (int ms = 0; ms < 5'000; ++ms) {
    std::vector<std::uint8_t> bytes;
    for (std::size_t i = dice() % 40; i > 0; --i) bytes.push_back(static_cast<std::uint8_t>(dice()));
    stage.say(stage.keys, bytes);
    stage.turn();
  }
  stage.keys.device_gone(stage.now_s);
  stage.run(0.2);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
  EXPECT_EQ(stage.allocated, 0);
}

// Every key of every channel of all ports down, and all let go at once: more than the engine keeps waiting.
TEST(Performance, LettingGoOfEverythingFitsTheEngine) {
  Stage stage;
  for (std::uint8_t channel = 0; channel < 16; ++channel)
    for (std::uint8_t key = 0; key < 128; ++key)
      for (Inlet* port : {&stage.keys, &stage.pads}) {
        stage.say(*port, {static_cast<std::uint8_t>(0x90 | channel), key, 100});
        if (key % 32 == 0) stage.turn();
      }
  stage.run(0.1);
  stage.keys.device_gone(stage.now_s);
  stage.pads.device_gone(stage.now_s);
  stage.run(0.1);
  EXPECT_EQ(stage.performance.figures().engine.sounding_count, 0u);
  EXPECT_EQ(stage.performance.figures().trouble, LiveTrouble::none);
  EXPECT_EQ(stage.judged().verdict, Verdict::within_limits);
}

// The MIDI file says when each note counted, exactly; the account says which note each burst plays.
TEST(LiveRecording, ItsMidiFileHasTheNotesOfItsAccount) {
  Stage stage;
  std::mt19937 dice(13);
  for (int i = 0; i < 200; ++i) {
    stage.say(stage.keys,
              {0x90, static_cast<std::uint8_t>(50 + dice() % 20), static_cast<std::uint8_t>(dice() % 128)});
    stage.run(0.001 * static_cast<double>(dice() % 50));
  }
  stage.keys.device_gone(stage.now_s);
  stage.run(0.1);
  const BurstFile file = stage.recording.stream("tried out");
  const Bytes midi = stage.recording.midi("tried out");
  const Score score = score_of(parse_midi(midi, "recording.mid"), "");
  ASSERT_EQ(score.notes.size(), file.account.notes.size());
  for (std::size_t i = 0; i < score.notes.size(); ++i) {
    EXPECT_NEAR(score.notes[i].start_s, file.stream.seconds(file.account.notes[i].start), 1e-9);
    EXPECT_EQ(score.notes[i].key, file.account.notes[i].key);
  }
  for (std::size_t i = 0; i < file.stream.bursts.size(); ++i) {
    const AccountedNote& note = file.account.notes[file.account.note_of_burst[i]];
    ASSERT_GE(file.stream.bursts[i].start, note.start);
    ASSERT_LE(file.stream.bursts[i].end(), note.end);
  }
}

// What was recorded as a MIDI file, played again: the same bursts, to the tick, with every limit at work,
// silences by hand, devices that go and two hands at once.
TEST(LiveRecording, ItsMidiFileGivesItsStreamAgain) {
  for (const unsigned seed : {21u, 22u, 23u}) {
    Stage stage;
    std::mt19937 dice(seed);
    const auto some = [&](unsigned below) { return static_cast<std::uint8_t>(dice() % below); };
    for (int i = 0; i < 600; ++i) {
      Inlet& port = some(3) == 0 ? stage.pads : stage.keys;
      const auto channel = some(2) == 0 ? some(16) : std::uint8_t{9};
      if (some(10) < 6) stage.say(port, {static_cast<std::uint8_t>(0x90 | channel), some(128), some(128)});
      if (some(10) < 2) stage.say(port, {static_cast<std::uint8_t>(0xE0 | channel), some(128), some(128)});
      if (some(10) < 2) stage.say(port, {static_cast<std::uint8_t>(0xB0 | channel), some(128), some(128)});
      if (some(100) == 0) stage.keys.device_gone(stage.now_s);
      if (some(30) == 0) stage.controls.silent.store(!stage.controls.silent.load());
      stage.run(0.001 * some(60));
    }
    stage.controls.ending.store(true);
    stage.run(0.5);
    const std::vector<Burst> recorded = stage.recording.stream("").stream.bursts;
    ASSERT_GT(recorded.size(), 1000u);
    const Bytes midi = stage.recording.midi("take");
    const MidiFile file = parse_midi(midi, "take.mid");
    const LiveRecording again =
        played_live(messages_of(file), stage.now_s, stage.profile, options_for(stage.profile));
    EXPECT_EQ(again.bursts(), recorded) << "seed " << seed;
  }
}

TEST(OutletToNothing, PlaysFromItsFirstTurnUntilItIsStopped) {
  const auto outlet = outlet_to_nothing(2'000'000);
  EXPECT_FALSE(outlet->figures().playing);
  outlet->serve(3, {});
  EXPECT_TRUE(outlet->figures().playing);
  EXPECT_EQ(outlet->player_now(4), 2'000'000);
  outlet->stop();
  EXPECT_FALSE(outlet->figures().playing);
  EXPECT_TRUE(outlet->figures().over);
  EXPECT_FALSE(outlet->player_now(5).has_value());
}

}  // namespace
}  // namespace burstloom
