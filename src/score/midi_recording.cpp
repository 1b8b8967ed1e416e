#include "burstloom/score/midi_recording.hpp"

#include <algorithm>

#include "burstloom/score/midi_message.hpp"
#include "midi_writing.hpp"

namespace burstloom {
namespace {

using namespace midi_detail;

constexpr std::uint32_t kStepsAQuarter = 25'000;

// What one number cannot say is cut by empty texts, which mean nothing. Gives what is left.
std::uint32_t bridge(Bytes& events, std::int64_t steps) {
  for (; steps > kLargestVariable; steps -= kLargestVariable) {
    append_variable(events, kLargestVariable);
    for (const int byte : {0xFF, 0x01, 0x00}) events.push_back(static_cast<std::uint8_t>(byte));
  }
  return static_cast<std::uint32_t>(std::max<std::int64_t>(0, steps));
}

}  // namespace

void MidiRecording::add(std::int64_t step, std::span<const std::uint8_t> message) {
  if (!is_channel_message(message)) return;
  append_variable(events_, bridge(events_, step - now_));
  events_.insert(events_.end(), message.begin(), message.end());
  now_ = std::max(now_, step);
}

Bytes MidiRecording::file(const std::string& title, std::int64_t length) const {
  Bytes track = opening(title), out;
  track.insert(track.end(), events_.begin(), events_.end());
  const std::uint32_t rest = bridge(track, length - now_);
  append_header(out, 0, 1, kStepsAQuarter);
  append_track(out, std::move(track), rest);
  return out;
}

}  // namespace burstloom
