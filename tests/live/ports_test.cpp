// From bytes on a MIDI wire to messages in order: running status, damage, overflow, devices that come and go.
#include <gtest/gtest.h>

#include <map>
#include <random>

#include "burstloom/common/error.hpp"
#include "burstloom/live/midi_inputs.hpp"
#include "burstloom/live/port_watch.hpp"

namespace burstloom {
namespace {

std::vector<MidiMessage> read(MidiReader& reader, const std::vector<std::uint8_t>& bytes) {
  std::vector<MidiMessage> all;
  reader.take(bytes, [&](const MidiMessage& message) { all.push_back(message); });
  return all;
}

using Messages = std::vector<MidiMessage>;
const MidiMessage kOn = {{0x90, 60, 100}, 3};
const MidiMessage kOff = {{0x90, 60, 0}, 3};

// MIDI 1.0 Detailed Specification, "Running Status" and "System Real Time Messages" (from memory).
TEST(MidiReader, RunningStatusIsSpeltOut) {
  MidiReader reader;
  EXPECT_EQ(read(reader, {0x90, 60, 100, 60, 0}), (Messages{kOn, kOff}));
}
TEST(MidiReader, RunningStatusGoesOnOverPieces) {
  MidiReader reader;
  EXPECT_EQ(read(reader, {0x90}), Messages{});
  EXPECT_EQ(read(reader, {60}), Messages{});
  EXPECT_EQ(read(reader, {100, 60}), Messages{kOn});
  EXPECT_EQ(read(reader, {0}), Messages{kOff});
}
TEST(MidiReader, RealTimeBytesMayStandInsideAMessage) {
  MidiReader reader;
  EXPECT_EQ(read(reader, {0x90, 0xFE, 60, 0xF8, 100}), (Messages{{{0xFE, 0, 0}, 1}, {{0xF8, 0, 0}, 1}, kOn}));
}
TEST(MidiReader, ShortMessagesHaveOneDataByte) {
  MidiReader reader;
  EXPECT_EQ(read(reader, {0xC3, 5, 6, 0xD0, 7}),
            (Messages{{{0xC3, 5, 0}, 2}, {{0xC3, 6, 0}, 2}, {{0xD0, 7, 0}, 2}}));
}
TEST(MidiReader, SystemMessagesEndRunningStatus) {
  MidiReader reader;
  EXPECT_EQ(read(reader, {0x90, 60, 100, 0xF2, 1, 2, 60, 0}), (Messages{kOn, {{0xF2, 1, 2}, 3}}));
  EXPECT_EQ(read(reader, {0x90, 60, 100, 0xF6, 60, 0}), (Messages{kOn, {{0xF6, 0, 0}, 1}}));
}
TEST(MidiReader, AnExclusiveMessageOfAnyLengthIsPassedOver) {
  MidiReader reader;
  std::vector<std::uint8_t> bytes(1'000'000, 0x45);
  bytes.front() = 0xF0;
  EXPECT_EQ(read(reader, bytes), Messages{});
  EXPECT_EQ(read(reader, {60, 100, 0xF7, 60, 100, 0x90, 60, 100}), Messages{kOn});
}
TEST(MidiReader, OfAnyBytesOnlyWellFormedMessagesCome) {
  std::mt19937 dice(7);
  MidiReader reader;
  std::size_t found = 0;
  for (int i = 0; i < 2'000'000; ++i) {
    const auto byte = static_cast<std::uint8_t>(dice());
    for (const MidiMessage& message : read(reader, {byte})) {
      ++found;
      ASSERT_GE(message.bytes[0], 0x80);
      ASSERT_LT(message.bytes[1], 0x80);
      ASSERT_LT(message.bytes[2], 0x80);
      ASSERT_GE(message.size, 1);
      ASSERT_LE(message.size, 3);
    }
  }
  EXPECT_GT(found, 100'000u);
}

void press(Inlet& inlet, double at_s, std::uint8_t key) {
  const std::uint8_t bytes[] = {0x90, key, 100};
  inlet.hear(at_s, bytes);
}

std::vector<PortEvent> all_of(Inlet& inlet) {
  std::vector<PortEvent> all;
  for (PortEvent event; inlet.next(event);) all.push_back(event);
  return all;
}

TEST(Inlet, GivesMessagesInOrderWithTheirTimes) {
  Inlet inlet;
  press(inlet, 1.5, 60);
  press(inlet, 1.6, 61);
  const auto all = all_of(inlet);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].at_s, 1.5);
  EXPECT_EQ(all[1].message.bytes[1], 61);
}
TEST(Inlet, GivesEverySignOfLife) {
  Inlet inlet;
  const std::uint8_t bytes[] = {0xF8, 0xFE, 0xF9, 0xFF};
  inlet.hear(0, bytes);
  const auto all = all_of(inlet);
  ASSERT_EQ(all.size(), 4u);
  for (std::size_t i = 0; i < all.size(); ++i) EXPECT_EQ(all[i].message.bytes[0], bytes[i]);
}
TEST(Inlet, DropsTheNewestWhenFullAndTellsItInTheirPlace) {
  Inlet inlet;
  for (std::size_t i = 0; i < Inlet::kRoom + 10; ++i) press(inlet, static_cast<double>(i), 60);
  EXPECT_EQ(inlet.dropped(), 10);
  PortEvent event;
  for (int i = 0; i < 5; ++i) ASSERT_TRUE(inlet.next(event));
  press(inlet, 9999, 72);  // there is room again
  const auto all = all_of(inlet);
  ASSERT_EQ(all.size(), Inlet::kRoom - 5 + 2);
  EXPECT_EQ(all[all.size() - 2].what, PortEvent::What::gap);
  EXPECT_EQ(all.back().message.bytes[1], 72);
  EXPECT_EQ(inlet.dropped(), 10);
}
TEST(Inlet, TellsOfDroppedMessagesThoughNothingFollows) {
  Inlet inlet;
  for (std::size_t i = 0; i < Inlet::kRoom + 1; ++i) press(inlet, 0, 60);
  const auto all = all_of(inlet);
  ASSERT_EQ(all.size(), Inlet::kRoom + 1);
  EXPECT_EQ(all.back().what, PortEvent::What::gap);
  EXPECT_TRUE(all_of(inlet).empty());
}
TEST(Inlet, TellsThatTheDeviceHasGoneEvenWhenFull) {
  Inlet inlet;
  for (std::size_t i = 0; i < Inlet::kRoom; ++i) press(inlet, 0, 60);
  inlet.device_gone(1);
  EXPECT_EQ(all_of(inlet).back().what, PortEvent::What::gone);
}

std::vector<MidiMessage> let_go(PortWatch& watch) {
  std::vector<MidiMessage> all;
  watch.let_go([&](const MidiMessage& message) { all.push_back(message); });
  return all;
}

TEST(PortWatch, LetsGoOfWhatIsDownAndNothingElse) {
  PortWatch watch;
  for (const MidiMessage& message : Messages{{{0x93, 60, 1}, 3},
                                             {{0x93, 64, 9}, 3},
                                             {{0x83, 60, 0}, 3},
                                             {{0x95, 1, 9}, 3},
                                             {{0x95, 1, 0}, 3},
                                             {{0xB2, 64, 127}, 3},
                                             {{0xB3, 66, 64}, 3},
                                             {{0xB4, 64, 63}, 3}})
    watch.follow(0, message);
  EXPECT_EQ(watch.keys_down(), 1u);
  EXPECT_EQ(let_go(watch), (Messages{{{0xB2, 64, 0}, 3}, {{0x83, 64, 64}, 3}, {{0xB3, 66, 0}, 3}}));
  EXPECT_EQ(let_go(watch), Messages{});
}
TEST(PortWatch, FollowsWhatEndsNotesAtOnce) {
  for (const MidiMessage& end :
       Messages{{{0xB0, 120, 0}, 3}, {{0xB0, 123, 0}, 3}, {{0xB0, 127, 0}, 3}, {{0xFF, 0, 0}, 1}}) {
    PortWatch watch;
    watch.follow(0, kOn);
    watch.follow(0, end);
    EXPECT_EQ(watch.keys_down(), 0u);
  }
}
// SMF 1.1, Appendix 1.1: once FE was seen, something comes at least every 300 ms.
TEST(PortWatch, ActiveSensingCountsOnlyOnceItWasHeard) {
  PortWatch watch;
  watch.follow(0, kOn);
  EXPECT_FALSE(watch.fell_silent(100));
  watch.follow(100, {{0xFE, 0, 0}, 1});
  EXPECT_FALSE(watch.fell_silent(100.299));
  EXPECT_TRUE(watch.fell_silent(100.301));
  watch.follow(100.29, kOff);  // anything is a sign of life
  EXPECT_FALSE(watch.fell_silent(100.58));
  (void)let_go(watch);
  EXPECT_FALSE(watch.fell_silent(200)) << "it begins anew with the next FE";
}

// A machine whose ports come and go as the test says.
class MadeUp : public MidiSystem {
 public:
  struct Held : OpenPort {
    Held(MadeUp& all, std::string of) : system(all), name(std::move(of)) {}
    ~Held() override { system.open_ports.erase(name); }
    [[nodiscard]] bool is_alive() const override { return system.runs; }
    [[nodiscard]] bool has_sender() const override { return system.is_fed; }
    MadeUp& system;
    std::string name;
  };
  std::vector<std::string> names() override { return present; }
  std::unique_ptr<OpenPort> open(const std::string& name, Inlet& inlet) override {
    if (refuses) throw Error(Fault::machine, "it went", name, "");
    open_ports[name] = &inlet;
    return std::make_unique<Held>(*this, name);
  }
  std::unique_ptr<OpenPort> open_virtual(const std::string& name, Inlet& inlet) override {
    return open(name, inlet);
  }
  std::vector<std::string> present;
  std::map<std::string, Inlet*> open_ports;
  bool refuses = false, runs = true, is_fed = true;
};

TEST(ChosenPort, ByNumberOrByAPartOfTheName) {
  const std::vector<std::string> names = {"Keys 61", "Pads", "Keys 88"};
  EXPECT_EQ(chosen_port(names, "2"), "Pads");
  EXPECT_EQ(chosen_port(names, "88"), "Keys 88");
  EXPECT_EQ(chosen_port(names, "ad"), "Pads");
}
TEST(ChosenPort, SaysWhatThereIsWhereItCannotChoose) {
  const std::vector<std::string> names = {"Keys 61", "Pads", "Keys 88"};
  for (const char* wish : {"Keys", "0", "4", "Drum"}) try {
      (void)chosen_port(names, wish);
      FAIL() << wish;
    } catch (const Error& error) {
      EXPECT_EQ(error.fault(), Fault::usage);
      EXPECT_NE(error.what_to_do().find("3 \"Keys 88\""), std::string::npos) << error.what();
    }
  try {
    (void)chosen_port({}, "1");
    FAIL();
  } catch (const Error& error) {
    EXPECT_EQ(error.fault(), Fault::machine);
    EXPECT_EQ(error.problem(), "there is no MIDI port on this machine");
  }
}

TEST(MidiInputs, LetsGoOfADeviceThatIsUnpluggedAndListensAgainWhenItIsBack) {
  MadeUp system;
  system.present = {"Keys 24:0", "Pads 28:0"};
  int rung = 0;
  MidiInputs inputs(system, [&] { ++rung; });
  inputs.listen_to("Keys");
  inputs.listen_to("2");
  press(*system.open_ports.at("Keys 24:0"), 0, 60);
  EXPECT_EQ(rung, 1);

  system.present = {"Pads 28:0"};
  inputs.look(1);
  EXPECT_FALSE(inputs.ports()[0].present);
  EXPECT_TRUE(inputs.ports()[1].present);
  EXPECT_EQ(system.open_ports.count("Keys 24:0"), 0u);
  auto all = all_of(*inputs.inlets()[0]);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[1].what, PortEvent::What::gone);

  system.present = {"Pads 28:0", "Keys 32:0"};  // ALSA counts on
  system.refuses = true;
  inputs.look(2);
  EXPECT_FALSE(inputs.ports()[0].present);
  system.refuses = false;
  inputs.look(3);
  EXPECT_TRUE(inputs.ports()[0].present);
  press(*system.open_ports.at("Keys 32:0"), 3, 62);
  all = all_of(*inputs.inlets()[0]);
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].message.bytes[1], 62);
  EXPECT_TRUE(all_of(*inputs.inlets()[1]).empty());
}
TEST(MidiInputs, ATwinIsNeverTakenForADeviceThatIsAway) {
  MadeUp system;
  system.present = {"Keys 24:0", "Keys 28:0", "Keys 30:0"};
  MidiInputs inputs(system, [] {});
  inputs.listen_to("1");
  inputs.listen_to("2");
  system.present = {"Keys 28:0", "Keys 30:0"};  // one is listened to, the other was there beside it
  inputs.look(1);
  EXPECT_FALSE(inputs.ports()[0].present);
  EXPECT_EQ(system.open_ports.count("Keys 30:0"), 0u);
  system.present = {"Keys 28:0", "Keys 30:0", "Keys 32:0"};
  inputs.look(2);
  EXPECT_EQ(inputs.ports()[0].name, "Keys 32:0");
  EXPECT_TRUE(inputs.ports()[0].present);
}
TEST(MidiInputs, WhatTheSystemTakesWithItWhenItEndsIsLetGoOfAndComesBackWithIt) {
  MadeUp system;
  system.present = {"Keys"};
  MidiInputs inputs(system, [] {});
  inputs.listen_to("Keys");
  inputs.offer("Coil");
  system.runs = false;
  system.refuses = true;
  inputs.look(1);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_FALSE(inputs.ports()[i].present);
    const auto all = all_of(*inputs.inlets()[i]);
    ASSERT_EQ(all.size(), 1u);
    EXPECT_EQ(all[0].what, PortEvent::What::gone);
  }
  system.runs = true;
  system.refuses = false;
  inputs.look(2);
  EXPECT_TRUE(inputs.ports()[0].present);
  EXPECT_TRUE(inputs.ports()[1].present);
}
TEST(MidiInputs, LetsGoOfWhatASenderThatLeavesHasLeftDown) {
  MadeUp system;
  system.is_fed = false;
  MidiInputs inputs(system, [] {});
  inputs.offer("Coil");
  inputs.look(1);
  EXPECT_TRUE(all_of(*inputs.inlets()[0]).empty()) << "nobody has come yet";
  system.is_fed = true;
  inputs.look(2);
  press(*system.open_ports.at("Coil"), 2, 60);
  system.is_fed = false;
  inputs.look(3);
  const auto all = all_of(*inputs.inlets()[0]);
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[1].what, PortEvent::What::left);
  EXPECT_TRUE(inputs.ports()[0].present) << "the next program finds it";
  EXPECT_EQ(system.open_ports.count("Coil"), 1u);
  inputs.look(4);
  EXPECT_TRUE(all_of(*inputs.inlets()[0]).empty());
}
TEST(MidiInputs, APortOfOurOwnIsNeverMissing) {
  MadeUp system;
  MidiInputs inputs(system, [] {});
  inputs.offer("Coil");
  inputs.look(1);
  EXPECT_TRUE(inputs.ports()[0].present);
  EXPECT_TRUE(all_of(*inputs.inlets()[0]).empty());
  EXPECT_THROW(inputs.offer("Coil"), Error);
}

}  // namespace
}  // namespace burstloom
