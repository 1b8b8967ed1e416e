// Plays messages through the engine as fast as it goes, for tests.
#pragma once

#include <array>
#include <vector>

#include "burstloom/check/judge.hpp"
#include "burstloom/common/files.hpp"
#include "burstloom/live/engine.hpp"
#include "burstloom/score/midi.hpp"

namespace burstloom::testing {

struct Played {
  BurstStream stream;
  std::vector<LiveBurst> all;  ///< the dropped ones, too
  LiveState state;             ///< at the end
};

/// One message at a moment in seconds.
inline TimedMessage message(double at_s, std::uint8_t status, std::uint8_t first, std::uint8_t second) {
  return {at_s, {{status, first, second}, 3}};
}
inline TimedMessage on(double at_s, std::uint8_t key, std::uint8_t velocity = 100, std::uint8_t channel = 0) {
  return message(at_s, static_cast<std::uint8_t>(0x90 | channel), key, velocity);
}
inline TimedMessage off(double at_s, std::uint8_t key, std::uint8_t channel = 0) {
  return message(at_s, static_cast<std::uint8_t>(0x80 | channel), key, 0);
}

inline void make_until(LiveEngine& engine, Tick until, Played& played, std::size_t at_once = 64) {
  std::array<LiveBurst, 64> some;
  for (std::size_t made = at_once; made == at_once;) {
    made = engine.make(until, std::span(some).first(at_once));
    for (std::size_t i = 0; i < made; ++i) {
      played.all.push_back(some[i]);
      if (some[i].fate != Fate::dropped) played.stream.bursts.push_back({some[i].start, some[i].on});
    }
  }
}

/// All messages, each heard at its moment, and `after_s` more.
inline Played play(const std::vector<TimedMessage>& messages, const Profile& profile,
                   const LiveOptions& options = {}, double after_s = 1) {
  LiveEngine engine(profile, options);
  const std::int64_t tick_hz = options.weave.tick_hz;
  Played played;
  played.stream.tick_hz = tick_hz;
  Tick now = 0;
  for (const TimedMessage& it : messages) {
    now = nearest_tick(it.at_s, tick_hz);
    make_until(engine, now, played);
    if (!engine.hear(now, it.message.span())) {
      make_until(engine, now + 1, played);
      engine.hear(now, it.message.span());
    }
  }
  played.stream.length = now + nearest_tick(after_s, tick_hz);
  make_until(engine, played.stream.length, played);
  if (!played.stream.bursts.empty())
    played.stream.length = std::max(played.stream.length, played.stream.bursts.back().end());
  played.state = engine.state();
  return played;
}

}  // namespace burstloom::testing
