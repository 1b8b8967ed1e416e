// compare_edges STREAM EDGES.csv TOLERANCE: whether the gate's edges are the stream's bursts, all of them and
// nothing else, each edge within TOLERANCE cycles of 16 MHz, with one offset for all. EDGES.csv is what
// play_in_simavr --csv or play_in_avr8js.mjs wrote. Exit 0 when they are, 1 with a sentence when not.
#include <cstdio>
#include <exception>
#include <string>

#include "bench.hpp"
#include "burstloom/stream/files.hpp"

int main(int count, char** words) {
  if (count != 4) {
    std::fprintf(stderr, "usage: compare_edges STREAM EDGES.csv TOLERANCE_CYCLES\n");
    return 2;
  }
  try {
    const auto stream = burstloom::read_stream(words[1], {}).file.stream;
    const auto played = avr_check::pulses(avr_check::read_edges(words[2]));
    const auto absent = avr_check::absent_bursts(played, stream, std::stol(words[3]));
    std::printf("%zu of %zu bursts played, each edge within %s cycles\n", played.size(), stream.bursts.size(),
                words[3]);
    if (absent.empty()) return 0;
    std::printf("first absent: burst %zu at %.6f s\n", absent[0] + 1,
                stream.seconds(stream.bursts[absent[0]].start));
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
  }
  return 1;
}
