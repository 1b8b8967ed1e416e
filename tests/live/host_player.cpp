#include "host_player.hpp"

#include <fcntl.h>
#include <pthread.h>
#include <stdlib.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>

#include "burstloom/live/clock.hpp"

extern "C" {
#include "hardware.h"
#include "link.h"
#include "player.h"
#include "serial.h"
}

namespace live_check {
namespace {

using burstloom::Burst;
using burstloom::Tick;

constexpr Tick kTicksPerMs = 2'000, kTicksPerByte = 174;  // ten bits at 115 200 baud
constexpr Tick kArmAfter = 100 * kTicksPerMs;

struct Chip {
  int file = -1;
  double pace = 1;
  double began_s = burstloom::live_now_s();
  Tick now = 0, ready_since = -1, byte_at = 0, sent_at = 0;
  bool arm = false;
  std::array<std::uint8_t, 64> in{};
  std::size_t in_count = 0, in_at = 0;
  std::vector<Burst> made;
  std::atomic<Tick> clock{0};
  std::atomic<bool> runs{true}, cut{false};

  [[nodiscard]] Tick real() const {
    return static_cast<Tick>((burstloom::live_now_s() - began_s) * pace * 1e3 * kTicksPerMs);
  }
  // Never ahead of real time by more than a millisecond.
  void step(Tick to) {
    now = std::max(now, to);
    clock.store(now);
    while (now > real() + kTicksPerMs && runs.load())
      std::this_thread::sleep_for(std::chrono::microseconds(200));
  }
  [[nodiscard]] Tick time_of(std::uint32_t moment) const {
    return now + static_cast<std::int32_t>(moment - static_cast<std::uint32_t>(now));
  }
  bool has_byte() {
    if (cut.load() || now < byte_at) return false;
    if (in_at < in_count) return true;
    const ssize_t count = ::read(file, in.data(), in.size());
    in_count = count > 0 ? static_cast<std::size_t>(count) : 0;
    in_at = 0;
    return in_count > 0;
  }
  // Like a patient person: closed when it is ready, opened when that is asked for (a busy machine may let an
  // offer lapse).
  void arm_when_ready() {
    if (player_status.state == PLAYER_RELEASE) {
      arm = false;
      ready_since = -1;
    }
    if (player_status.state != PLAYER_READY) return;
    if (ready_since < 0) ready_since = now;
    arm = arm || now - ready_since > kArmAfter;
  }
};

Chip* chip = nullptr;

}  // namespace

PseudoTerminal::PseudoTerminal() : file_(::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC)) {
  ::grantpt(file_);
  ::unlockpt(file_);
  std::array<char, 100> name{};
  ::ptsname_r(file_, name.data(), name.size());
  device_ = name.data();
}
PseudoTerminal::~PseudoTerminal() {
  ::close(file_);
}

HostPlayer::HostPlayer(double pace) {
  chip = new Chip;
  chip->pace = pace;
  chip->file = line_.file();
  player_begin();
  thread_ = std::thread([] {
    // A chip has nobody beside it: ahead of ordinary threads where that is allowed, behind those under test.
    const sched_param priority{.sched_priority = 30};
    (void)::pthread_setschedparam(::pthread_self(), SCHED_FIFO, &priority);
    while (chip->runs.load()) {
      player_step();
      chip->arm_when_ready();
    }
  });
}
HostPlayer::~HostPlayer() {
  (void)stop();
  delete chip;
  chip = nullptr;
}

Tick HostPlayer::now() const {
  return chip->clock.load();
}

Tick HostPlayer::pull_cable() {
  chip->cut.store(true);
  return now();
}

std::string HostPlayer::said() const {
  return "the player's state is " + std::to_string(player_status.state) + ", its clock " +
         std::to_string(static_cast<double>(chip->real() - chip->clock.load()) / kTicksPerMs) + " ms behind";
}

std::vector<Burst> HostPlayer::stop() {
  chip->runs.store(false);
  if (thread_.joinable()) thread_.join();
  return chip->made;
}

}  // namespace live_check

using live_check::chip;

extern "C" {
std::uint32_t hardware_now(void) {
  chip->step(chip->now + 20);
  return static_cast<std::uint32_t>(chip->now);
}
std::uint8_t hardware_conditions(void) {
  return static_cast<std::uint8_t>((chip->arm ? HARDWARE_ARM_GIVEN : 0) | HARDWARE_RUN_ALLOWED |
                                   HARDWARE_CLOCK_SOUND);
}
std::uint8_t hardware_make_burst(std::uint32_t rise, std::uint16_t on) {
  const burstloom::Tick start = chip->time_of(rise);
  if (start - chip->now < 4) return HARDWARE_TOO_LATE;
  chip->made.push_back({start, on});
  chip->step(start + on);
  return HARDWARE_MADE;
}
void hardware_rest_until(std::uint32_t moment) {
  const burstloom::Tick until = std::min(chip->time_of(moment), chip->now + 16'000);
  while (chip->runs.load() && chip->now < until && !chip->has_byte()) {
    chip->step(std::min({until, chip->now + 200, std::max(chip->now, chip->real())}));
    if (chip->now >= chip->real()) std::this_thread::sleep_for(std::chrono::microseconds(100));
  }
}
void hardware_gate_low(void) {}
void serial_begin(void) {}
std::uint8_t serial_receive(std::uint8_t* byte) {
  if (!chip->has_byte()) return 0;
  *byte = chip->in[chip->in_at++];
  chip->byte_at = chip->now + live_check::kTicksPerByte;
  return 1;
}
std::uint8_t serial_idle(void) {
  return chip->now >= chip->sent_at ? 1 : 0;
}
void serial_send(const std::uint8_t* bytes, std::uint8_t count) {
  chip->sent_at = chip->now + live_check::kTicksPerByte * count;
  if (!chip->cut.load()) (void)!::write(chip->file, bytes, count);
}
}
