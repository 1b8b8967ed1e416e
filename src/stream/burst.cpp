#include "burstloom/stream/burst.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "burstloom/common/error.hpp"

namespace burstloom {
namespace {

// Of a burst that is out of order: by itself, or with the one before.
const char* what_is_wrong(const Burst& burst) {
  if (burst.start < 0 || burst.start >= kEndOfTime) return "starts outside the range of time";
  if (burst.on < 1 || burst.on >= kEndOfTime - burst.start) return "has an impossible on-time";
  return "starts before the one before it ends";
}

}  // namespace

void require_in_order(const BurstStream& stream, const std::string& where) {
  const auto refuse = [&](std::size_t i, const char* what) {
    char place[96];
    std::snprintf(place, sizeof place, "burst %zu at %.6f s ", i + 1, stream.seconds(stream.bursts[i].start));
    return bad_input(place + std::string(what), where, "give bursts in order of time that do not overlap");
  };
  if (stream.tick_hz < kLowestTickHz || stream.tick_hz > kHighestTickHz)
    throw bad_input("the tick rate is " + std::to_string(stream.tick_hz) + " Hz", where,
                    "use a rate from 1000 to 100000000 Hz");
  Tick free_from = 0;
  for (std::size_t i = 0; i < stream.bursts.size(); ++i) {
    const Burst& burst = stream.bursts[i];
    if (burst.start < free_from || burst.on < 1 || burst.on >= kEndOfTime - burst.start)
      throw refuse(i, what_is_wrong(burst));
    free_from = burst.end();
  }
  if (stream.length < free_from || stream.length >= kEndOfTime)
    throw bad_input("the stream's length does not hold its bursts", where, "write the file again");
}

BurstStream excerpt(const BurstStream& stream, Tick from, Tick until) {
  BurstStream part{stream.tick_hz, std::max<Tick>(0, std::min(until, stream.length) - from), {}};
  const auto first = std::lower_bound(stream.bursts.begin(), stream.bursts.end(), from,
                                      [](const Burst& burst, Tick t) { return burst.start < t; });
  for (auto it = first; it != stream.bursts.end() && it->end() <= until; ++it)
    part.bursts.push_back({it->start - from, it->on});
  return part;
}

Tick nearest_tick(double seconds, std::int64_t tick_hz) {
  const double ticks = seconds * static_cast<double>(tick_hz);
  if (!(std::abs(ticks) < static_cast<double>(kEndOfTime)))  // also when it is not a number
    throw bad_input("a moment at " + std::to_string(seconds) + " s lies outside the range of time", "",
                    "give music that is shorter");
  return static_cast<Tick>(std::llround(ticks));
}

}  // namespace burstloom
