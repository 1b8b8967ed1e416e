// One MIDI port's way to the real-time thread: bytes go in on the port's own thread, messages come out in
// order.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <span>

#include "burstloom/live/midi_reader.hpp"
#include "burstloom/live/ring.hpp"

namespace burstloom {

/// What came in on a port, or what happened to it.
struct PortEvent {
  enum class What : std::uint8_t {
    message,
    gap,   ///< messages were lost here, for want of room
    gone,  ///< the device was unplugged here
    left   ///< whoever played into the port has left here
  };
  double at_s = 0;  ///< when it came, on the clock of whoever feeds the port
  MidiMessage message;
  What what = What::message;
};

/// Bounded and free of locks. When it is full the newest messages are dropped, and a gap is told in their
/// place: no note may hang because its end was among them.
class Inlet {
 public:
  static constexpr std::size_t kRoom = 1024;

  /// `ring_bell` is called after each piece of input, on the port's thread: it must not lock or throw.
  explicit Inlet(std::function<void()> ring_bell = [] {}) : events_(kRoom), bell_(std::move(ring_bell)) {}

  /// On the port's thread; any bytes. Real-time bytes come out, too: each is a sign of life.
  void hear(double at_s, std::span<const std::uint8_t> bytes) noexcept;
  /// On whichever thread closes the port, after the last `hear`, before the first of a port opened anew.
  void device_gone(double at_s) noexcept { tell(at_s, PortEvent::What::gone); }
  void sender_left(double at_s) noexcept { tell(at_s, PortEvent::What::left); }

  /// On the real-time thread. False when nothing has happened.
  [[nodiscard]] bool next(PortEvent& event) noexcept;
  /// Messages dropped since the beginning.
  [[nodiscard]] std::int64_t dropped() const noexcept { return dropped_.load(std::memory_order_relaxed); }

 private:
  void push(const PortEvent& event) noexcept;
  void tell(double at_s, PortEvent::What what) noexcept;

  MidiReader reader_;
  Ring<PortEvent> events_;
  std::function<void()> bell_;
  std::atomic<std::int64_t> dropped_{0};
  std::atomic<bool> gap_{false};   ///< messages were dropped and nobody has been told
  std::atomic<bool> gone_{false};  ///< there was no room to tell it
};

}  // namespace burstloom
