#include "burstloom/stream/one_stream.hpp"

#include "burstloom/common/error.hpp"

namespace burstloom {

BurstStream one_stream(const std::vector<const BurstStream*>& streams, const std::vector<Tick>& pauses) {
  BurstStream all{streams.empty() ? kDefaultTickHz : streams.front()->tick_hz, 0, {}};
  std::size_t bursts = 0;
  for (const BurstStream* stream : streams) bursts += stream->bursts.size();
  all.bursts.reserve(bursts);
  Tick start = 0;
  for (std::size_t i = 0; i < streams.size(); ++i) {
    for (const Burst& burst : streams[i]->bursts) all.bursts.push_back({start + burst.start, burst.on});
    all.length = start + streams[i]->length;
    start = all.length + pauses[i];
    if (start >= kEndOfTime)
      throw Error(Fault::usage, "the evening is longer than a stream can be", "", "leave songs out");
  }
  return all;
}

}  // namespace burstloom
