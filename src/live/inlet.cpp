#include "burstloom/live/inlet.hpp"

namespace burstloom {

void Inlet::hear(double at_s, std::span<const std::uint8_t> bytes) noexcept {
  reader_.take(bytes, [&](const MidiMessage& message) { push({at_s, message, PortEvent::What::message}); });
  bell_();
}

void Inlet::tell(double at_s, PortEvent::What what) noexcept {
  reader_ = {};
  if (!events_.push({at_s, {}, what})) gone_.store(true);
  bell_();
}

// What was dropped is told in its place, in front of the first message that there is room for again.
void Inlet::push(const PortEvent& event) noexcept {
  const bool told = !gap_.load() || events_.push({event.at_s, {}, PortEvent::What::gap});
  if (told) gap_.store(false);
  if (told && events_.push(event)) return;
  dropped_.fetch_add(1, std::memory_order_relaxed);
  gap_.store(true);
}

// A port that falls silent after a gap has nobody to tell of it but the reader itself. Told twice does no
// harm.
bool Inlet::next(PortEvent& event) noexcept {
  if (events_.pop(event)) return true;
  const bool gone = gone_.exchange(false), gap = gap_.exchange(false);
  if (!gone && !gap) return false;
  if (events_.pop(event)) {  // it came meanwhile, and what is flagged came after all that was in the queue
    if (gone) gone_.store(true);
    if (gap) gap_.store(true);
    return true;
  }
  event.message = {};
  event.what = gone ? PortEvent::What::gone : PortEvent::What::gap;
  return true;
}

}  // namespace burstloom
