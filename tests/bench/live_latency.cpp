// How long a key takes to the wire: from a MIDI message sent by another JACK client to the bytes of its first
// burst at the far end of the serial line, at whatever period the JACK server runs.
// tests/bench/live_latency.sh starts one.
#include <RtMidi.h>

#include <algorithm>
#include <cstdio>
#include <thread>
#include <vector>

#include "burstloom/live/clock.hpp"
#include "burstloom/live/session.hpp"

namespace {

using namespace burstloom;

// A link that only looks at when bursts come to it: where a serial port's bytes would be written.
class Noted : public Outlet {
 public:
  void serve(double now_s, std::span<const Burst> bursts) override {
    if (!began_s_) began_s_ = now_s;
    if (!bursts.empty() && waiting.exchange(false)) heard_s.store(live_now_s());
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
  inline static std::atomic<bool> waiting{false};
  inline static std::atomic<double> heard_s{0};

 private:
  std::optional<double> began_s_;
  bool over_ = false;
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
  LiveSession session(profile, {}, std::make_unique<Noted>(), inputs.inlets(), bell,
                      {.record = argc > 2 ? argv[2] : "/tmp/live-latency"});
  session.controls().longest_on.store(1000);
  sleep_ms(500);
  std::vector<double> ms;
  for (int i = 0; i < notes; ++i) {
    const auto key = static_cast<unsigned char>(50 + i % 30);
    const std::vector<unsigned char> on = {0x90, key, 100}, off = {0x80, key, 0};
    Noted::heard_s.store(0);
    Noted::waiting.store(true);
    const double sent_s = live_now_s();
    out.sendMessage(&on);
    for (int wait = 0; wait < 100 && Noted::heard_s.load() == 0; ++wait) sleep_ms(1);
    if (Noted::heard_s.load() == 0) {
      std::fprintf(stderr, "note %d did not arrive\n", i);
      return 1;
    }
    ms.push_back((Noted::heard_s.load() - sent_s) * 1e3);
    out.sendMessage(&off);
    sleep_ms(25 + i % 7);
  }
  session.finish();
  say("MIDI message sent to burst at the serial side", ms);
  return 0;
}
