#include "burstloom/live/replay.hpp"

#include <algorithm>
#include <array>

#include "burstloom/live/engine.hpp"

namespace burstloom {
namespace {

void make_until(LiveEngine& engine, Tick until, LiveRecording& recording) {
  std::array<LiveBurst, 256> bursts;
  for (std::size_t made = bursts.size(); made == bursts.size();) {
    made = engine.make(until, bursts);
    for (std::size_t i = 0; i < made; ++i) {
      Recorded entry;
      entry.what = Recorded::What::burst;
      entry.burst = bursts[i];
      recording.add(entry);
    }
  }
}

Recorded entry_of(const TimedMessage& message, Tick at) {
  Recorded entry;
  entry.message.bytes = message.bytes;
  entry.message.size = static_cast<std::uint8_t>(message.size);
  entry.at = at;
  return entry;
}

}  // namespace

LiveRecording played_live(std::span<const TimedMessage> messages, double length_s, const Profile& profile,
                          const LiveOptions& options) {
  LiveEngine engine(profile, options);
  LiveRecording recording(profile, options.weave.tick_hz);
  for (const TimedMessage& message : messages) {
    const Tick at = engine.counts_at(nearest_tick(message.at_s, options.weave.tick_hz));
    const auto bytes = std::span(message.bytes).first(message.size);
    make_until(engine, at, recording);
    if (!engine.hear(at, bytes)) {
      make_until(engine, at + 1, recording);  // it acts on what waits, and has room again
      (void)engine.hear(at, bytes);
    }
    recording.add(entry_of(message, at));
  }
  const Tick length = nearest_tick(length_s, options.weave.tick_hz);
  make_until(engine, length, recording);
  recording.reach(length);
  return recording;
}

}  // namespace burstloom
