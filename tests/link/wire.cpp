#include "wire.hpp"

#include <gtest/gtest.h>

namespace link_check {
namespace {

Bench* bench = nullptr;

// The bench's time of a moment on the chip's clock, which is close to now.
std::int64_t time_of(std::uint32_t moment) {
  const auto now = static_cast<std::uint32_t>(bench->now) + kClockAtZero;
  return bench->now + static_cast<std::int32_t>(moment - now);
}

}  // namespace

void Line::write(std::int64_t now, std::span<const std::uint8_t> more) {
  for (const std::uint8_t byte : more)
    for (const std::uint8_t heard : noise(byte)) {
      free_at = std::max(free_at, now) + kTicksPerByte;
      if (!cut) bytes.emplace_back(free_at, heard);
    }
}

bool Line::take(std::int64_t now, std::uint8_t* byte) {
  if (bytes.empty() || bytes.front().first > now) return false;
  *byte = bytes.front().second;
  bytes.pop_front();
  return true;
}

Bench::Bench() {
  bench = this;
  player_begin();
}

void Bench::send(const burstloom::BurstStream& stream, burstloom::SongOffer offer, std::uint8_t session) {
  sender = std::make_unique<burstloom::Sender>(stream, offer, "the wire", session, 115'200);
}

void Bench::go_live(std::uint8_t session) {
  live = std::make_unique<burstloom::LiveSender>(kOffer, burstloom::kDefaultTickHz, "the wire", session,
                                                 115'200);
}

burstloom::LinkSession* Bench::session() const {
  if (live) return live.get();
  return sender.get();
}

double Bench::host_s() const {
  return static_cast<double>(now) / (1000.0 * kTicksPerMs) * (1 + drift);
}

void Bench::run_host() {
  if (now < host_at_) return;
  host_at_ = now + kTicksPerMs;
  if (session() == nullptr || !sender_lives) return;
  const double now_s = host_s();
  burstloom::Bytes heard;
  if (!kept_back())
    for (std::uint8_t byte = 0; to_host.take(now, &byte);) heard.push_back(byte);
  session()->receive(now_s, heard);
  compose(now_s);
  while (sender_writes && (buffered || to_chip.free_at <= now)) {
    burstloom::Bytes out = session()->to_send(now_s);
    meddle(out);
    if (out.empty()) break;
    to_chip.write(now, out);
  }
}

void Bench::sleep_until(std::int64_t moment) {
  while (now < moment && (to_chip.bytes.empty() || to_chip.bytes.front().first > now)) {
    std::int64_t next = std::min(moment, host_at_);
    if (!to_chip.bytes.empty()) next = std::min(next, to_chip.bytes.front().first);
    now = std::max(now, next);
    run_host();
  }
}

void Bench::run_ms(std::int64_t ms) {
  for (const std::int64_t end = now + ms * kTicksPerMs; now < end;) {
    player_step();
    run_host();
  }
}

bool Bench::until(std::uint8_t state) {
  const std::int64_t end = now + 2'000 * kTicksPerMs;
  while (now < end && player_status.state != state) run_ms(1);
  return player_status.state == state;
}

void Bench::run_sender() {
  while (session()->phase() != burstloom::Sender::Phase::over && now < 1'000'000 * kTicksPerMs) run_ms(1);
}

void Bench::arm_when_ready() {
  ASSERT_TRUE(until(PLAYER_READY));
  run_ms(100);
  arm = true;
}

void Bench::play(const burstloom::BurstStream& stream, std::int64_t most_ms) {
  send(stream);
  arm_when_ready();
  const std::int64_t end = now + most_ms * kTicksPerMs;
  while (now < end && sender->phase() != burstloom::Sender::Phase::over) run_ms(1);
}

burstloom::BurstStream song_like(std::size_t bursts, unsigned seed) {
  std::mt19937 dice(seed);
  burstloom::BurstStream stream;
  burstloom::Tick at = 0;
  for (std::size_t i = 0; i < bursts; ++i) {
    const burstloom::Tick on = 20 + dice() % 3 * 37;
    at += dice() % 100 == 0 ? 100'000 + dice() % 1'000'000 : 400 + dice() % 6'000;
    stream.bursts.push_back({at, on});
    at += on;
  }
  stream.length = at;
  return stream;
}

std::function<burstloom::Bytes(std::uint8_t)> noise_one_in(unsigned n, unsigned seed) {
  return [n, dice = std::mt19937(seed)](std::uint8_t byte) mutable -> burstloom::Bytes {
    if (dice() % n != 0) return {byte};
    switch (dice() % 5) {
      case 0:
        return {};
      case 1:
        return {byte, byte};
      case 2:
        return {static_cast<std::uint8_t>(dice()), byte};
      case 3:
        return {0};
      default:
        return {static_cast<std::uint8_t>(byte ^ 1 << dice() % 8)};
    }
  };
}

burstloom::Bytes begin_of(std::uint8_t encoding, std::uint8_t on_max) {
  return {LINK_BEGIN, 7, 0x80, 0x84, 0x1E, 0, on_max, 0, 0, 0, 200, 0, 0, 0, 0, 0, 0, 0, encoding};
}

std::vector<burstloom::Burst> from_first(std::vector<burstloom::Burst> bursts) {
  const burstloom::Tick first = bursts.empty() ? 0 : bursts.front().start;
  for (burstloom::Burst& burst : bursts) burst.start -= first;
  return bursts;
}

void expect_within_limits(const std::vector<burstloom::Burst>& bursts) {
  for (std::size_t i = 0; i < bursts.size(); ++i) {
    ASSERT_GE(bursts[i].on, 1);
    ASSERT_LE(bursts[i].on, 100);
    if (i > 0) {
      ASSERT_GE(bursts[i].start - bursts[i - 1].end(), 200);
    }
  }
}

}  // namespace link_check

using link_check::bench;

extern "C" {
std::uint32_t hardware_now(void) {
  bench->now += 20;
  return static_cast<std::uint32_t>(bench->now) + link_check::kClockAtZero;
}
std::uint8_t hardware_conditions(void) {
  return static_cast<std::uint8_t>((bench->arm ? HARDWARE_ARM_GIVEN : 0) |
                                   (bench->run ? HARDWARE_RUN_ALLOWED : 0) |
                                   (bench->clock_sound ? HARDWARE_CLOCK_SOUND : 0));
}
std::uint8_t hardware_make_burst(std::uint32_t rise, std::uint16_t on) {
  if (!bench->run) return HARDWARE_STOPPED;
  const std::int64_t start = link_check::time_of(rise);
  if (start - bench->now < 4) return HARDWARE_TOO_LATE;
  bench->made.push_back({start, on});
  bench->now = start + on;
  return HARDWARE_MADE;
}
// A byte that comes in wakes the chip up.
void hardware_rest_until(std::uint32_t moment) {
  bench->sleep_until(std::min(link_check::time_of(moment), bench->now + 16'000));
}
void hardware_gate_low(void) {}
void serial_begin(void) {}
std::uint8_t serial_receive(std::uint8_t* byte) {
  return bench->to_chip.take(bench->now, byte) ? 1 : 0;
}
std::uint8_t serial_idle(void) {
  return bench->to_host.free_at <= bench->now ? 1 : 0;
}
void serial_send(const std::uint8_t* bytes, std::uint8_t count) {
  bench->to_host.write(bench->now, {bytes, count});
}
}
