// The program itself, `burstloom send`, over a pseudo terminal to a player on a simulated ATmega328P. The
// chip runs at a quarter of real time, so that a busy machine that keeps the program waiting is no lost link.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <chrono>
#include <functional>
#include <thread>
#include <utility>

#include "bench.hpp"
#include "burstloom/stream/files.hpp"

namespace avr_check {
namespace {

using Clock = std::chrono::steady_clock;

constexpr double kFrom_s = 1.0, kUntil_s = 3.0;  // of the bundled song, with its densest bars
constexpr const char* kCoil = BURSTLOOM_SAMPLES "/coils/bench-36v.toml";

// A child process with its output in files.
class Child {
 public:
  Child(const std::vector<std::string>& words, const std::string& folder) : folder_(folder) {
    process_ = ::fork();
    if (process_ != 0) return;
    const int out = ::open((folder + "/out").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    const int err = ::open((folder + "/err").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600);
    ::dup2(out, STDOUT_FILENO);
    ::dup2(err, STDERR_FILENO);
    std::vector<char*> argv;
    for (const std::string& word : words) argv.push_back(const_cast<char*>(word.c_str()));
    argv.push_back(nullptr);
    ::execv(argv[0], argv.data());
    ::_exit(127);
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;
  ~Child() {
    if (is_over()) return;
    ::kill(process_, SIGKILL);
    ::waitpid(process_, nullptr, 0);
  }
  void signal(int number) const { ::kill(process_, number); }
  bool is_over() {
    int state = 0;
    if (!over_ && ::waitpid(process_, &state, WNOHANG) == process_) {
      over_ = true;
      code_ = WIFEXITED(state) ? WEXITSTATUS(state) : -1;
    }
    return over_;
  }
  int code() {
    for (int i = 0; i < 500 && !is_over(); ++i) std::this_thread::sleep_for(std::chrono::milliseconds(10));
    return code_;
  }
  [[nodiscard]] std::string said(const std::string& where) const {
    const auto bytes = burstloom::read_file(folder_ + "/" + where);
    return {bytes.begin(), bytes.end()};
  }

 private:
  std::string folder_;
  pid_t process_ = 0;
  bool over_ = false;
  int code_ = -2;
};

// The chip's end of a pseudo terminal.
class Terminal {
 public:
  Terminal() : master_(::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC)) {
    ::grantpt(master_);
    ::unlockpt(master_);
    slave_ = ::open(name().c_str(),
                    O_RDWR | O_NOCTTY | O_CLOEXEC);  // held, or reading fails until somebody else has it open
    termios raw{};
    ::tcgetattr(slave_, &raw);
    ::cfmakeraw(&raw);
    ::tcsetattr(slave_, TCSANOW, &raw);
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;
  ~Terminal() { unplug(); }
  [[nodiscard]] std::string name() const { return ::ptsname(master_); }
  void unplug() {
    if (master_ >= 0) ::close(master_);
    if (slave_ >= 0) ::close(slave_);
    master_ = slave_ = -1;
  }
  std::vector<std::uint8_t> exchange(const std::vector<std::uint8_t>& out) {
    if (master_ < 0) return {};
    if (!out.empty()) {
      EXPECT_EQ(::write(master_, out.data(), out.size()), static_cast<ssize_t>(out.size()));
    }
    std::vector<std::uint8_t> in(256);
    const ssize_t count = ::read(master_, in.data(), in.size());
    in.resize(count > 0 ? static_cast<std::size_t>(count) : 0);
    return in;
  }

 private:
  int master_, slave_ = -1;
};

class PeerOnTerminal : public Peer {
 public:
  PeerOnTerminal(Terminal& terminal, Child& child) : terminal_(terminal), child_(child) {}
  std::vector<std::uint8_t> talk(double now_s, const std::vector<std::uint8_t>& heard,
                                 bool line_is_free) override {
    std::this_thread::sleep_until(last_ + std::chrono::milliseconds(4));
    last_ = Clock::now();
    if (now_s >= at_s && what) std::exchange(what, nullptr)();
    now_s_ = now_s;
    child_is_over_ = child_.is_over();  // not in is_done: that is asked at every instruction
    answers_.insert(answers_.end(), heard.begin(), heard.end());
    if (!line_is_free) return {};
    return terminal_.exchange(std::exchange(answers_, {}));
  }
  [[nodiscard]] bool is_done() const override { return at_s < 1e9 ? now_s_ > at_s + 1 : child_is_over_; }

  double at_s = 1e9;  ///< then this happens; it ends a second later
  std::function<void()> what;

 private:
  Terminal& terminal_;
  Child& child_;
  std::vector<std::uint8_t> answers_;
  double now_s_ = 0;
  bool child_is_over_ = false;
  Clock::time_point last_{};
};

class send : public testing::Test {
 protected:
  void SetUp() override {
    const std::string name = testing::UnitTest::GetInstance()->current_test_info()->name();
    folder = fresh_folder("send_" + name);
    const std::string program = "'" BURSTLOOM_PROGRAM "' ";
    shell(program + "weave '" BURSTLOOM_SAMPLES "/quayside-lanterns.mid' --coil '" + kCoil + "' --out '" +
          folder + "/whole.burst'");
    auto file = burstloom::from_burst_file(burstloom::read_file(folder + "/whole.burst"), "whole");
    file.stream = burstloom::excerpt(file.stream, 0, burstloom::nearest_tick(kUntil_s, file.stream.tick_hz));
    file.account = {};
    burstloom::write_file(folder + "/song.burst", burstloom::to_burst_file(file));
    whole = file.stream;
    stream = burstloom::excerpt(file.stream, burstloom::nearest_tick(kFrom_s, file.stream.tick_hz),
                                file.stream.length);
  }
  std::string build_player(const std::string& coil, const std::string& rest_s = "0.2") {
    shell("'" BURSTLOOM_PROGRAM "' export --to player --coil '" + coil + "' --rest " + rest_s + " --out '" +
          folder + "/player'");
    shell("make -s -C '" + folder + "/player'");
    return folder + "/player/player.elf";
  }
  [[nodiscard]] std::vector<std::string> words(const std::string& device) const {
    return {BURSTLOOM_PROGRAM, "send", folder + "/song.burst", "--device", device, "--from", "1", "--json"};
  }
  static Playback run(const std::string& elf, PeerOnTerminal& peer, const std::vector<Switches>& later = {}) {
    Options options;
    options.seconds = 20;
    options.until_song_ends = true;
    options.switches = {{0, false, true}, {1.5, true, true}};  // after the rest: the longest window, a second
    options.switches.insert(options.switches.end(), later.begin(), later.end());
    options.peer = &peer;
    return simulate(elf, options);
  }
  void expect_start_played(const Playback& played) const {
    burstloom::BurstStream start = stream;
    const auto pin = pulses(played.gate);
    ASSERT_GT(pin.size(), 10u);
    ASSERT_LT(pin.size(), start.bursts.size());
    start.bursts.resize(pin.size());
    EXPECT_EQ(absent_bursts(pin, start, kSimavrLateness), std::vector<std::size_t>{});
  }
  static double last_fall_s(const Playback& played) {
    return played.gate.empty() ? 0 : static_cast<double>(pulses(played.gate).back().fall) / kClockHz;
  }

  std::string folder;
  burstloom::BurstStream whole, stream;  ///< the song, and what of it is played from --from on
};

TEST_F(send, plays_the_song_to_its_end) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  Child child(words(terminal.name()), folder);
  PeerOnTerminal peer(terminal, child);
  const Playback played = run(elf, peer);
  EXPECT_EQ(child.code(), 0) << child.said("err");
  EXPECT_EQ(played.status.songs, 1);
  EXPECT_EQ(played.overruns, 0);
  EXPECT_EQ(absent_bursts(pulses(played.gate), stream, kSimavrLateness), std::vector<std::size_t>{});
  EXPECT_NE(child.said("out").find("\"made\": " + std::to_string(stream.bursts.size())), std::string::npos)
      << child.said("out");
  EXPECT_NE(child.said("err").find("close the arm switch"), std::string::npos) << child.said("err");
}

// Two songs: the player rests for the pause after the first, and is armed by hand for each.
TEST_F(send, plays_two_songs_with_the_pause_and_an_arming_for_each) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  auto both = words(terminal.name());
  both.insert(both.begin() + 3, {folder + "/song.burst", "--pause", "0.6"});
  Child child(both, folder);
  PeerOnTerminal peer(terminal, child);
  constexpr double kReleased_s = 4.7, kArmedAgain_s = 5;
  const Playback played = run(elf, peer, {{kReleased_s, false, true}, {kArmedAgain_s, true, true}});
  EXPECT_EQ(child.code(), 0) << child.said("err");
  EXPECT_EQ(played.status.songs, 2);
  const auto pin = pulses(played.gate);
  ASSERT_GT(pin.size(), stream.bursts.size());
  const auto second = pin.begin() + static_cast<std::ptrdiff_t>(stream.bursts.size());
  EXPECT_EQ(absent_bursts({pin.begin(), second}, stream, kSimavrLateness), std::vector<std::size_t>{});
  EXPECT_EQ(absent_bursts({second, pin.end()}, whole, kSimavrLateness), std::vector<std::size_t>{});
  EXPECT_GT(static_cast<double>(second->rise) / kClockHz, kArmedAgain_s);
  EXPECT_NE(child.said("err").find("song 2 of 2"), std::string::npos) << child.said("err");
  EXPECT_NE(child.said("err").find("the player rests"), std::string::npos) << child.said("err");
}
// Armed again while the pause passes: nothing starts, and the arm switch is asked for.
TEST_F(send, starts_no_second_song_within_the_pause) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  auto both = words(terminal.name());
  both.insert(both.begin() + 3, {folder + "/song.burst", "--pause", "60"});
  Child child(both, folder);
  PeerOnTerminal peer(terminal, child);
  peer.at_s = 7;
  peer.what = [&] { child.signal(SIGINT); };
  const Playback played = run(elf, peer, {{4.7, false, true}, {5, true, true}});
  EXPECT_EQ(child.code(), 4);
  EXPECT_EQ(played.status.songs, 1);
  EXPECT_EQ(pulses(played.gate).size(), stream.bursts.size());
}

TEST_F(send, ends_in_good_order_on_ctrl_c) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  Child child(words(terminal.name()), folder);
  PeerOnTerminal peer(terminal, child);
  peer.at_s = 2.2;
  peer.what = [&] { child.signal(SIGINT); };
  const Playback played = run(elf, peer);
  EXPECT_EQ(child.code(), 4);
  EXPECT_NE(child.said("out").find("stopped by hand"), std::string::npos) << child.said("out");
  EXPECT_EQ(played.status.error, 21);
  EXPECT_LE(last_fall_s(played), 2.3);
  expect_start_played(played);
}

TEST_F(send, killed_is_silence_within_100_ms) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  Child child(words(terminal.name()), folder);
  PeerOnTerminal peer(terminal, child);
  peer.at_s = 2.2;
  peer.what = [&] { child.signal(SIGKILL); };
  const Playback played = run(elf, peer);
  EXPECT_EQ(played.status.error, 19);
  EXPECT_LE(last_fall_s(played), 2.3);
  expect_start_played(played);
}

TEST_F(send, unplugged_is_silence_within_100_ms_and_told) {
  const std::string elf = build_player(kCoil);
  Terminal terminal;
  Child child(words(terminal.name()), folder);
  PeerOnTerminal peer(terminal, child);
  peer.at_s = 2.2;
  peer.what = [&] { terminal.unplug(); };
  const Playback played = run(elf, peer);
  EXPECT_EQ(child.code(), 4);
  EXPECT_NE(child.said("out").find("the device has gone"), std::string::npos) << child.said("out");
  EXPECT_EQ(played.status.error, 19);
  EXPECT_LE(last_fall_s(played), 2.3);
  expect_start_played(played);
}

TEST_F(send, refuses_a_player_for_another_coil) {
  const std::string elf = build_player(BURSTLOOM_SAMPLES "/coils/half-bridge-325v.toml");
  Terminal terminal;
  Child child(words(terminal.name()), folder);
  PeerOnTerminal peer(terminal, child);
  const Playback played = run(elf, peer);
  EXPECT_EQ(child.code(), 1);
  EXPECT_NE(child.said("out").find("wider limits"), std::string::npos) << child.said("out");
  EXPECT_TRUE(played.gate.empty());
}

}  // namespace
}  // namespace avr_check
