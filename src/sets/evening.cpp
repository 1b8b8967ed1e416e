#include "evening.hpp"

#include <cmath>

#include "burstloom/common/error.hpp"

namespace burstloom {

Tick ticks_of_pause(double seconds, std::int64_t tick_hz) {
  return static_cast<Tick>(std::ceil(seconds * static_cast<double>(tick_hz) - 1e-6));
}

BurstStream one_stream(const std::vector<const BurstStream*>& songs, const std::vector<Tick>& pauses) {
  BurstStream all{songs.empty() ? kDefaultTickHz : songs.front()->tick_hz, 0, {}};
  std::size_t bursts = 0;
  for (const BurstStream* song : songs) bursts += song->bursts.size();
  all.bursts.reserve(bursts);
  Tick start = 0;
  for (std::size_t i = 0; i < songs.size(); ++i) {
    for (const Burst& burst : songs[i]->bursts) all.bursts.push_back({start + burst.start, burst.on});
    all.length = start + songs[i]->length;
    start = all.length + pauses[i];
    if (start >= kEndOfTime)
      throw Error(Fault::usage, "the evening is longer than a stream can be", "", "leave songs out");
  }
  return all;
}

HeatStart in_whole_degrees(const HeatStart& start) {
  return {std::ceil(start.sink_c), std::ceil(start.case_c)};
}

}  // namespace burstloom
