// Files of a few bytes that ask for days of bursts: refused before memory is taken for them.
#include <sys/resource.h>

#include <fstream>

#include "support.hpp"

namespace burstloom::testing {
namespace {

using Event = std::vector<std::uint8_t>;

void append_length(Event& out, std::uint32_t value) {
  for (int shift = 21; shift > 0; shift -= 7)
    if (value >> shift != 0) out.push_back(static_cast<std::uint8_t>(0x80 | (value >> shift & 0x7F)));
  out.push_back(static_cast<std::uint8_t>(value & 0x7F));
}

// A tick is a second: one a quarter note of a million microseconds.
std::string song_of_seconds(const std::vector<std::pair<std::uint32_t, Event>>& events) {
  Event track = {0, 0xFF, 0x51, 3, 0x0F, 0x42, 0x40};
  for (const auto& [delta_s, event] : events) {
    append_length(track, delta_s);
    track.insert(track.end(), event.begin(), event.end());
  }
  track.insert(track.end(), {0, 0xFF, 0x2F, 0});
  const auto size = static_cast<std::uint8_t>(track.size() >> 8);
  Event bytes = {'M', 'T', 'h', 'd', 0,   0,   0,   6, 0, 0,    0,
                 1,   0,   1,   'M', 'T', 'r', 'k', 0, 0, size, static_cast<std::uint8_t>(track.size())};
  bytes.insert(bytes.end(), track.begin(), track.end());
  return {bytes.begin(), bytes.end()};
}

std::string song_of_one_note(std::uint32_t at_s, std::uint32_t end_s) {
  return song_of_seconds({{at_s, {0x90, 100, 100}}, {1, {0x80, 100, 0}}, {end_s - at_s - 1, {0xC0, 1}}});
}

std::string nineteen_hours() {
  constexpr std::uint8_t kKeys[] = {101, 102, 103};
  std::vector<std::pair<std::uint32_t, Event>> events;
  for (int i = 0; i < 38; ++i) {
    for (const std::uint8_t key : kKeys) events.push_back({0, {0x90, key, 127}});
    for (const std::uint8_t key : kKeys) events.push_back({key == kKeys[0] ? 1800u : 0u, {0x80, key, 0}});
  }
  return song_of_seconds(events);
}

long most_memory_kb() {
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

class Ceiling : public Command {
 protected:
  std::string written(const std::string& name, const std::string& content) {
    std::ofstream(folder_ / name, std::ios::binary) << content;
    return folder_ / name;
  }
  std::vector<std::string> weave(const std::string& song, const std::vector<std::string>& more = {}) {
    std::vector<std::string> words = {"weave", song, "--coil", kCoil, "--out", folder_ / "out.burst"};
    words.insert(words.end(), more.begin(), more.end());
    return words;
  }
};

TEST_F(Ceiling, AFewBytesDoNotTakeTheMemory) {
  const std::string song = written("long.mid", nineteen_hours());
  ASSERT_LT(std::filesystem::file_size(song), 1500u);
  const long before = most_memory_kb();
  expect_refusal(weave(song), 3,
                 {"long.mid", "19:00:00", "bursts", "1:00:00", "burstloom song", "--longest 1"});
  EXPECT_LT(most_memory_kb() - before, 100'000);
  // What to look at comes first, the higher ceiling last.
  const std::string said = run(weave(song)).err;
  EXPECT_LT(said.find("burstloom song"), said.find("--longest"));
}

TEST_F(Ceiling, TheEstimateIsWhatWouldBeWoven) {
  const std::string song = written("hour.mid", song_of_one_note(3600, 3700));
  const std::string said = run(weave(song)).err;
  EXPECT_NE(said.find("1:01:40"), std::string::npos) << said;
  // E7 for a second: 2637 Hz, an octave lower where the coil's break rate is less.
  EXPECT_NE(said.find("some 1300 bursts"), std::string::npos) << said;
}

TEST_F(Ceiling, IsRaisedByNameOnly) {
  const std::string song = written("hour.mid", song_of_one_note(3660, 3670));
  expect_refusal(weave(song), 3, {"1:01:10", "--longest 62"});
  const Ran ran = run(weave(song, {"--longest", "62"}));
  EXPECT_EQ(ran.code, 0) << ran.err;
  for (const std::string minutes : {"0", "-1", "1441", "nan"})
    expect_refusal(weave(song, {"--longest=" + minutes}), 2, {"--longest", "1 to 1440"});
}

TEST_F(Ceiling, HoldsLiveAndInASet) {
  const std::string song = written("hour.mid", song_of_one_note(3660, 3670));
  expect_refusal(weave(song, {"--live"}), 3, {"hour.mid", "1:01:10"});
  EXPECT_EQ(run(weave(song, {"--live", "--longest", "62"})).code, 0);
  const std::string set = written("set.toml", "coil = \"" + kCoil + "\"\n[[song]]\nfile = \"hour.mid\"\n");
  expect_refusal({"set", set}, 3, {"hour.mid", "1:01:10"});
  EXPECT_EQ(run({"set", set, "--longest", "62"}).code, 0);
}

TEST_F(Ceiling, OddTimesOfAMidiFileEndInOneSentence) {
  const auto longest = song_of_seconds({{0x0FFFFFFF, {0x90, 69, 100}}, {0x0FFFFFFF, {0x80, 69, 0}}});
  expect_refusal(weave(written("far.mid", longest)), 3, {"longer than a day"});
  // The slowest tempo a file can say, 16.8 s a quarter note, and the fastest, a microsecond.
  auto slow = song_of_seconds({{0, {0xFF, 0x51, 3, 0xFF, 0xFF, 0xFF}}, {5000, {0x90, 69, 100}}});
  expect_refusal(weave(written("slow.mid", slow)), 3, {"23:18"});
  auto fast =
      song_of_seconds({{0, {0xFF, 0x51, 3, 0, 0, 1}}, {1, {0x90, 69, 100}}, {0x0FFFFFFF, {0x80, 69, 0}}});
  EXPECT_EQ(run(weave(written("fast.mid", fast))).code, 0);
  auto none = song_of_seconds({{0, {0xFF, 0x51, 3, 0, 0, 0}}, {1, {0x90, 69, 100}}, {1, {0x80, 69, 0}}});
  EXPECT_EQ(run(weave(written("none.mid", none))).code, 0);
}

// A sound of silence: one byte a sample, all of them 0 in a file with a hole.
std::string long_recording(const std::string& path, std::uint32_t seconds) {
  const std::uint32_t rate = 8000, bytes = seconds * rate;
  std::string head = "RIFF----WAVEfmt ";
  const auto put = [&head](std::uint32_t value, int count) {
    for (int i = 0; i < count; ++i) head.push_back(static_cast<char>(value >> (8 * i)));
  };
  put(16, 4), put(1, 2), put(1, 2), put(rate, 4), put(rate, 4), put(1, 2), put(8, 2);
  head += "data";
  put(bytes, 4);
  const std::uint32_t riff = bytes + static_cast<std::uint32_t>(head.size()) - 8;
  for (int i = 0; i < 4; ++i) head[static_cast<std::size_t>(4 + i)] = static_cast<char>(riff >> (8 * i));
  std::ofstream(path, std::ios::binary) << head;
  std::filesystem::resize_file(path, head.size() + bytes);
  return path;
}

TEST_F(Ceiling, RecordingsAreMeasuredBeforeTheyAreHeld) {
  const std::string sound = long_recording(folder_ / "long.wav", 70);
  for (const char* how : {"notes", "carrier"})
    expect_refusal(weave(sound, {"--how", how, "--longest", "1"}), 3, {"long.wav", "0:01:10", "--longest 2"});
}

TEST_F(Ceiling, ALengthThatIsOnlyDeclaredTakesNoMemory) {
  const std::string path = long_recording(folder_ / "liar.wav", 500'000);
  std::filesystem::resize_file(path, 400);
  const long before = most_memory_kb();
  for (const auto& words : {weave(path), {"song", path}, {"check", path, "--coil", kCoil}}) {
    const Ran ran = run(words);
    EXPECT_TRUE(ran.code == 0 || ran.code == 3) << ran.code << ran.err;
  }
  EXPECT_LT(most_memory_kb() - before, 100'000);
}

}  // namespace
}  // namespace burstloom::testing
