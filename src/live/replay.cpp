#include "burstloom/live/replay.hpp"

#include <algorithm>
#include <array>

#include "burstloom/live/engine.hpp"
#include "burstloom/weave/ceiling.hpp"

namespace burstloom {
namespace {

struct Ceiling {
  double length_s, longest_s;
};

void make_until(LiveEngine& engine, Tick until, LiveRecording& recording, const Ceiling& ceiling) {
  std::array<LiveBurst, 256> bursts;
  for (std::size_t made = bursts.size(); made == bursts.size();) {
    made = engine.make(until, bursts);
    for (std::size_t i = 0; i < made; ++i) {
      Recorded entry;
      entry.what = Recorded::What::burst;
      entry.burst = bursts[i];
      recording.add(entry);
    }
    if (const auto count = static_cast<double>(recording.bursts().size());
        count > most_bursts(ceiling.longest_s))
      require_within_ceiling(ceiling.length_s, count, ceiling.longest_s);
  }
}

}  // namespace

LiveRecording played_live(std::span<const TimedMessage> messages, double length_s, const Profile& profile,
                          const LiveOptions& options) {
  const Ceiling ceiling{length_s, options.weave.longest_s};
  LiveEngine engine(profile, options);
  LiveRecording recording(profile, options.weave.tick_hz);
  for (const auto& [at_s, message] : messages) {
    const Tick at = engine.counts_at(nearest_tick(at_s, options.weave.tick_hz));
    make_until(engine, at, recording, ceiling);
    if (!engine.hear(at, message.span())) {
      make_until(engine, at + 1, recording, ceiling);  // it acts on what waits, and has room again
      (void)engine.hear(at, message.span());
    }
    Recorded entry;
    entry.message = message;
    entry.at = at;
    recording.add(entry);
  }
  const Tick length = nearest_tick(length_s, options.weave.tick_hz);
  make_until(engine, length, recording, ceiling);
  recording.reach(length);
  return recording;
}

}  // namespace burstloom
