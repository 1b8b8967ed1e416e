// Reading MIDI files, and all that comes before weaving; on a song of 13 500 events (240 s, 16 channels).
// For midi/beside.sh, which sets other readers beside this one, `bench_midi --song FILE SECONDS CHANNELS` writes it, and
// `bench_midi --best FILE` prints the milliseconds of the quickest of 500 readings.
#include <benchmark/benchmark.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "burstloom/common/files.hpp"
#include "burstloom/score/arrangement.hpp"
#include "burstloom/score/midi.hpp"
#include "support/sixteen_channels.hpp"

namespace burstloom {
namespace {

Bytes song() {
  const std::string text = testing::sixteen_channel_song(240, 16);
  return {text.begin(), text.end()};
}

void count(benchmark::State& state, const Bytes& bytes) {
  std::size_t events = 0;
  for (const MidiTrack& track : parse_midi(bytes, "song").tracks) events += track.events.size();
  state.counters["events"] = static_cast<double>(events);
  state.counters["bytes"] = static_cast<double>(bytes.size());
}

void read_only(benchmark::State& state) {
  const Bytes bytes = song();
  for (auto _ : state) benchmark::DoNotOptimize(parse_midi(bytes, "song"));
  count(state, bytes);
}
BENCHMARK(read_only)->Unit(benchmark::kMillisecond);

void read_and_notes(benchmark::State& state) {
  const Bytes bytes = song();
  for (auto _ : state) benchmark::DoNotOptimize(score_of(parse_midi(bytes, "song"), "song"));
  count(state, bytes);
}
BENCHMARK(read_and_notes)->Unit(benchmark::kMillisecond);

// Arranged as `song --suggest` would, a tone higher.
void read_notes_and_arrangement(benchmark::State& state) {
  const Bytes bytes = song();
  const Score score = score_of(parse_midi(bytes, "song"), "song");
  Arrangement arrangement = parse_arrangement(suggest_arrangement(score, summarise(score, {})), "suggested");
  arrangement.transpose = 2;
  for (auto _ : state)
    benchmark::DoNotOptimize(arranged(score_of(parse_midi(bytes, "song"), "song"), arrangement));
  count(state, bytes);
}
BENCHMARK(read_notes_and_arrangement)->Unit(benchmark::kMillisecond);

double best_ms(const Bytes& bytes) {
  double best = 1e9;
  for (int round = 0; round < 500; ++round) {
    const auto from = std::chrono::steady_clock::now();
    benchmark::DoNotOptimize(parse_midi(bytes, "song"));
    const std::chrono::duration<double, std::milli> taken = std::chrono::steady_clock::now() - from;
    best = std::min(best, taken.count());
  }
  return best;
}

}  // namespace
}  // namespace burstloom

int main(int count, char** words) {
  if (count == 5 && std::strcmp(words[1], "--song") == 0) {
    const std::string song = burstloom::testing::sixteen_channel_song(std::atof(words[3]), std::atoi(words[4]));
    burstloom::write_file(words[2], burstloom::Bytes(song.begin(), song.end()));
    return 0;
  }
  if (count == 3 && std::strcmp(words[1], "--best") == 0) {
    std::printf("%.3f\n", burstloom::best_ms(burstloom::read_file(words[2], burstloom::kLargestMidiFile)));
    return 0;
  }
  benchmark::Initialize(&count, words);
  benchmark::RunSpecifiedBenchmarks();
}
