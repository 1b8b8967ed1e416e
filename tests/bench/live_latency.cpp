// How long a key takes to the wire: from a MIDI message sent by another JACK client to the bytes of its first
// burst on the serial line to the player (here the one of the tests, on a pseudo terminal), at whatever
// period the JACK server runs. tests/bench/live_latency.sh starts one.
#include <RtMidi.h>
#include <poll.h>
#include <pthread.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <thread>
#include <vector>

#include "burstloom/live/clock.hpp"
#include "burstloom/live/session.hpp"
#include "live/host_player.hpp"

namespace {

using namespace burstloom;

// Stands in the middle of the serial line and notes when the first burst after a key passes.
class Tap {
 public:
  explicit Tap(const std::string& player) : back_(player, 115'200), thread_([this] { run(); }) {}
  Tap(const Tap&) = delete;
  Tap& operator=(const Tap&) = delete;
  ~Tap() {
    runs_.store(false);
    thread_.join();
  }
  [[nodiscard]] const std::string& device() const { return front_.device(); }

  std::atomic<bool> waiting{false};
  std::atomic<double> passed_s{0};

 private:
  void run() {
    const sched_param priority{.sched_priority = 35};
    (void)::pthread_setschedparam(::pthread_self(), SCHED_FIFO, &priority);
    Bytes out;
    while (runs_.load()) {
      pollfd wait{front_.file(), POLLIN, 0};
      (void)::poll(&wait, 1, 1);
      std::array<std::uint8_t, 512> in{};
      const ssize_t count = ::read(front_.file(), in.data(), in.size());
      const double now_s = live_now_s();
      if (count > 0) {
        out.insert(out.end(), in.begin(), in.begin() + count);
        for (const Bytes& body : reader_.take(std::span(in).first(static_cast<std::size_t>(count))))
          if (brings_burst(body) && waiting.exchange(false)) passed_s.store(now_s);
      }
      const Bytes answer = back_.exchange(out, 0);
      if (!answer.empty()) (void)!::write(front_.file(), answer.data(), answer.size());
    }
  }
  // Entries are pairs (docs/reference/table-format.md); a rest has no on-time.
  bool brings_burst(const Bytes& body) {
    if (body.size() < 4 || body[0] != static_cast<std::uint8_t>(FrameType::bursts)) return false;
    bool found = false;
    for (std::size_t at = 4; at < body.size();) {
      if ((number(body, at) & 1) != 0) on_ = number(body, at);
      found = found || on_ > 0;
    }
    return found;
  }
  static std::uint64_t number(const Bytes& body, std::size_t& at) {
    std::uint64_t value = 0;
    for (int shift = 0; at < body.size(); shift += 7) {
      const std::uint8_t byte = body[at++];
      value |= std::uint64_t{byte & 0x7Fu} << shift;
      if (byte < 0x80) break;
    }
    return value;
  }

  live_check::PseudoTerminal front_;
  SerialPort back_;
  FrameReader reader_;
  std::uint64_t on_ = 0;
  std::atomic<bool> runs_{true};
  std::thread thread_;
};

void say(const char* what, std::vector<double> ms) {
  std::sort(ms.begin(), ms.end());
  const auto at = [&](double part) {
    return ms[static_cast<std::size_t>(part * static_cast<double>(ms.size() - 1))];
  };
  std::printf("%s: %zu notes, p50 %.2f ms, p99 %.2f ms, most %.2f ms\n", what, ms.size(), at(0.5), at(0.99),
              ms.back());
}

void sleep_ms(int ms) {
  std::this_thread::sleep_for(std::chrono::milliseconds(ms));
}

}  // namespace

int main(int argc, char** argv) {
  const int notes = argc > 1 ? std::atoi(argv[1]) : 500;
  const Profile profile = read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml");
  Bell bell;
  const auto midi = midi_of_this_machine();
  MidiInputs inputs(*midi, [&bell] { bell.ring(); });
  inputs.offer("latency");
  RtMidiOut out(RtMidi::UNIX_JACK, "sender");
  for (unsigned i = 0; i < out.getPortCount(); ++i)
    if (out.getPortName(i).find("latency") != std::string::npos) out.openPort(i, "out");
  live_check::HostPlayer player;
  Tap tap(player.device());
  LiveSession session(profile, {}, outlet_to_player({.device = tap.device(), .offer = {100, 200, 50}}),
                      inputs.inlets(), bell, {.record = argc > 2 ? argv[2] : "/tmp/live-latency"});
  session.controls().longest_on.store(80);
  while (!session.link().playing && !session.is_over()) sleep_ms(10);
  sleep_ms(500);
  std::vector<double> ms;
  for (int i = 0; i < notes; ++i) {
    const auto key = static_cast<unsigned char>(50 + i % 30);
    const std::vector<unsigned char> on = {0x90, key, 100}, off = {0x80, key, 0};
    tap.passed_s.store(0);
    tap.waiting.store(true);
    const double sent_s = live_now_s();
    out.sendMessage(&on);
    for (int wait = 0; wait < 100 && tap.passed_s.load() == 0; ++wait) sleep_ms(1);
    if (tap.passed_s.load() == 0) {
      std::fprintf(stderr, "note %d did not arrive\n", i);
      return 1;
    }
    ms.push_back((tap.passed_s.load() - sent_s) * 1e3);
    out.sendMessage(&off);
    sleep_ms(25 + i % 7);
  }
  session.finish();
  say("MIDI message sent to bytes on the serial line", ms);
  return 0;
}
