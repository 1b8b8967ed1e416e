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

}  // namespace

LiveRecording played_live(std::span<const TimedMessage> messages, double length_s, const Profile& profile,
                          const LiveOptions& options) {
  LiveEngine engine(profile, options);
  LiveRecording recording(profile, options.weave.tick_hz);
  for (const auto& [at_s, message] : messages) {
    const Tick at = engine.counts_at(nearest_tick(at_s, options.weave.tick_hz));
    make_until(engine, at, recording);
    if (!engine.hear(at, message.span())) {
      make_until(engine, at + 1, recording);  // it acts on what waits, and has room again
      (void)engine.hear(at, message.span());
    }
    Recorded entry;
    entry.message = message;
    entry.at = at;
    recording.add(entry);
  }
  const Tick length = nearest_tick(length_s, options.weave.tick_hz);
  make_until(engine, length, recording);
  recording.reach(length);
  return recording;
}

}  // namespace burstloom
