// Playing live on its threads, in real time: into nothing, to links that fail in named ways, and through a
// pseudo terminal to the player that chips run, on this machine.
#include "burstloom/live/session.hpp"

#include <gtest/gtest.h>

#include <filesystem>

#include "burstloom/check/judge.hpp"
#include "burstloom/live/clock.hpp"
#include "host_player.hpp"
#include "support/folder.hpp"

namespace burstloom {
namespace {

using testing::Folder;

Profile coil() {
  return read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
}

void sleep_s(double seconds) {
  std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
}

// A keyboard, a session and the folder of its recording.
class Played {
 public:
  explicit Played(std::unique_ptr<Outlet> outlet, LiveSessionOptions options = {},
                  const Profile& profile = coil())
      : profile_(profile) {
    options.record = folder / "played";
    LiveOptions live;
    live.weave.voices = profile.voices;
    session.emplace(profile, live, std::move(outlet), std::vector<Inlet*>{&keys}, bell, options);
    session->controls().longest_on.store(80);
  }
  void press(std::uint8_t key) { say({0x90, key, 100}); }
  void release(std::uint8_t key) { say({0x80, key, 0}); }
  void chord() {
    for (std::uint8_t key = 60; key < 70; key = static_cast<std::uint8_t>(key + 4)) press(key);
  }
  [[nodiscard]] bool ends_within(double seconds) {
    const double until_s = live_now_s() + seconds;
    while (!session->is_over() && live_now_s() < until_s) sleep_s(0.005);
    return session->is_over();
  }
  [[nodiscard]] bool is_armed() {
    const double until_s = live_now_s() + 20;
    while (!session->link().playing && live_now_s() < until_s) sleep_s(0.01);
    return session->link().playing;
  }
  // Ends it and gives the sentence it ended with.
  std::string finish() try {
    session->finish();
    return "";
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::machine);
    return error.problem();
  }
  [[nodiscard]] BurstStream written() const { return read_stream(folder / "played.burst", {}).file.stream; }
  void expect_whole() const {
    const BurstStream stream = written();
    EXPECT_EQ(stream.bursts, session->recording().bursts());
    EXPECT_GT(stream.bursts.size(), 20u);
    EXPECT_EQ(judge(stream, profile_).verdict, Verdict::within_limits);
    EXPECT_EQ(folder.names(), (std::vector<std::string>{"played.burst", "played.mid"}));
  }

  Folder folder;
  Bell bell;
  Inlet keys{[this] { bell.ring(); }};
  std::optional<LiveSession> session;

 private:
  void say(std::initializer_list<std::uint8_t> bytes) {
    keys.hear(live_now_s(), std::span(bytes.begin(), bytes.size()));
  }
  Profile profile_;
};

// Takes bursts, and then fails as the test says.
class Failing : public Outlet {
 public:
  explicit Failing(std::function<void()> fault) : fault_(std::move(fault)) {}
  void serve(double now_s, std::span<const Burst> bursts) override {
    if (!began_s_) began_s_ = now_s;
    taken_ += bursts.size();
    if (taken_ > 40) fault_();
  }
  std::optional<Tick> player_now(double now_s) override {
    return static_cast<Tick>((now_s - *began_s_) * kDefaultTickHz);
  }
  void stop() override { over_ = true; }
  [[nodiscard]] LinkFigures figures() const override {
    LinkFigures now;
    now.playing = !over_;
    now.over = over_;
    return now;
  }

 private:
  std::function<void()> fault_;
  std::optional<double> began_s_;
  std::size_t taken_ = 0;
  bool over_ = false;
};

TEST(LiveSession, PlaysIntoAFileAndWritesItWhole) {
  Played played(outlet_to_nothing(kDefaultTickHz));
  sleep_s(0.1);
  played.chord();
  sleep_s(0.5);
  EXPECT_EQ(played.session->figures().engine.sounding_count, 3u);
  EXPECT_EQ(played.finish(), "");
  played.expect_whole();
}

TEST(LiveSession, WritesWhatIsPlayedSoFarWhileItPlays) {
  Played played(outlet_to_nothing(kDefaultTickHz), {.write_every_s = 0.2});
  sleep_s(0.1);
  played.chord();
  sleep_s(0.8);
  EXPECT_GT(played.written().bursts.size(), 20u);
  EXPECT_EQ(played.finish(), "");
  played.expect_whole();
}

TEST(LiveSession, ALinkThatIsLostEndsItAtOnceAndTheRecordingIsWhole) {
  std::atomic<double> lost_s{0};
  const double began_s = live_now_s();
  Played played(std::make_unique<Failing>([&] {
    lost_s.store(live_now_s());
    throw Error(Fault::machine, "the device has gone", "/dev/somewhere", "plug it in again");
  }));
  sleep_s(0.1);
  played.chord();
  ASSERT_TRUE(played.ends_within(5));
  EXPECT_EQ(played.finish(), "the device has gone");
  EXPECT_TRUE(played.session->is_recorded());
  played.expect_whole();
  // It began later than that, so that its own time is less.
  const BurstStream stream = played.written();
  EXPECT_LT(stream.seconds(stream.bursts.back().start), lost_s.load() - began_s + 0.1);
}

TEST(LiveSession, ALinkThatBlocksEndsItAndTheRecordingIsWhole) {
  std::atomic<bool> blocked{true};
  Played played(std::make_unique<Failing>([&] {
                  while (blocked.load()) sleep_s(0.01);
                }),
                {.link_room = 64});
  sleep_s(0.1);
  played.chord();
  ASSERT_TRUE(played.ends_within(5));
  blocked.store(false);
  EXPECT_EQ(played.finish(), "more bursts were made than the link takes");
  played.expect_whole();
}

// A folder in the place of NAME.mid: nobody can write a file there, whoever they are.
TEST(LiveSession, ARecordingThatCannotBeWrittenIsKnownBeforeAnybodyPlays) {
  const Folder folder;
  std::filesystem::create_directory(folder / "played.mid");
  Bell bell;
  EXPECT_THROW(
      LiveSession(coil(), {}, outlet_to_nothing(kDefaultTickHz), {}, bell, {.record = folder / "played"}),
      Error);
}

TEST(LiveSession, WhatEndedItIsToldThoughTheRecordingIsNotWritten) {
  Played played(std::make_unique<Failing>(
      [] { throw Error(Fault::machine, "the device has gone", "/dev/somewhere", "plug it in again"); }));
  std::filesystem::remove(played.folder / "played.mid");
  std::filesystem::create_directory(played.folder / "played.mid");
  sleep_s(0.1);
  played.chord();
  ASSERT_TRUE(played.ends_within(5));
  EXPECT_EQ(played.finish(), "the device has gone");
  EXPECT_FALSE(played.session->is_recorded());
  ASSERT_FALSE(played.session->remarks().empty());
  EXPECT_NE(played.session->remarks().back().find("the recording could not be written"), std::string::npos);
}

TEST(LiveSession, WithoutAPlayerItSaysSo) {
  const live_check::PseudoTerminal line;
  Played played(outlet_to_player({.device = line.device(), .offer = {80, 240, 0}}));
  ASSERT_TRUE(played.ends_within(8));
  EXPECT_EQ(played.finish(), "no player answered within 5 s");
}

// Whether all of `made` stand in `recorded`, at one and the same distance: when the chip's song began nobody
// knows.
bool is_part_of(const std::vector<Burst>& made, const std::vector<Burst>& recorded) {
  const auto at_distance = [&](Tick distance) {
    std::size_t at = 0;
    for (const Burst& burst : made) {
      while (at < recorded.size() && recorded[at].start + distance < burst.start) ++at;
      if (at == recorded.size() || Burst{recorded[at].start + distance, recorded[at].on} != burst)
        return false;
    }
    return true;
  };
  return std::any_of(recorded.begin(), recorded.end(),
                     [&](const Burst& first) { return at_distance(made.front().start - first.start); });
}

// The player that chips run, with limits of its own compiled in: on-times up to 50 us, gaps from 100 us.
TEST(LiveSession, ThePinPlaysWhatIsRecorded) {
  Profile profile = coil();
  profile.limits.on_time_max_us = 60;
  live_check::HostPlayer player;
  Played played(outlet_to_player({.device = player.device(), .offer = {100, 200, 50}}), {.latency_s = 0.03},
                profile);
  ASSERT_TRUE(played.is_armed()) << player.said();
  sleep_s(0.3);
  for (std::uint8_t key = 60; key < 80; ++key) {
    played.press(key);
    sleep_s(0.1);
    played.release(key);
  }
  sleep_s(0.1);
  EXPECT_EQ(played.finish(), "");
  const LinkFigures link = played.session->link();
  const std::vector<Burst> made = player.stop();
  const std::vector<Burst> recorded = played.session->recording().bursts();
  ASSERT_GT(recorded.size(), 500u);
  // What was too late for the line is counted; all else is on the pin, to the tick.
  EXPECT_GE(made.size() + static_cast<std::size_t>(link.dropped.total() + link.status->missed),
            recorded.size());
  EXPECT_GT(made.size(), recorded.size() / 2);
  EXPECT_TRUE(is_part_of(made, recorded));
  std::printf("%zu bursts recorded, %zu on the pin\n", recorded.size(), made.size());
}

TEST(LiveSession, APulledCableIsSilenceOnThePinWithinATenthOfASecond) {
  Profile profile = coil();
  profile.limits.on_time_max_us = 60;
  live_check::HostPlayer player;
  Played played(outlet_to_player({.device = player.device(), .offer = {100, 200, 50}}), {.latency_s = 0.03},
                profile);
  ASSERT_TRUE(played.is_armed()) << player.said();
  sleep_s(0.2);
  played.chord();
  sleep_s(0.5);
  const Tick pulled = player.pull_cable();
  ASSERT_TRUE(played.ends_within(3));
  EXPECT_NE(played.finish(), "");
  sleep_s(0.2);
  const std::vector<Burst> made = player.stop();
  ASSERT_GT(made.size(), 50u);
  EXPECT_LT(made.back().end() - pulled, kDefaultTickHz / 10);
  played.expect_whole();
}

}  // namespace
}  // namespace burstloom
