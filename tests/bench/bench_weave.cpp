// Nanoseconds a burst from notes to wanted bursts: 1, 4 and 16 voices, a minute to ten hours; growth has to
// stay near a straight line. Sixteen voices end at an hour: ten are 150 million bursts, 6 GB.
#include <benchmark/benchmark.h>

#include "burstloom/weave/weave.hpp"
#include "support/sixteen_channels.hpp"

namespace burstloom {
namespace {

Profile profile() {
  Profile it;
  it.limits.on_time_min_us = 5;
  it.limits.on_time_max_us = 100;
  it.limits.gap_us = 50;
  return it;
}

void weave(benchmark::State& state) {
  const auto voices = static_cast<int>(state.range(0));
  const Score score = testing::sixteen_channel_score(60.0 * static_cast<double>(state.range(1)), voices);
  const WeaveOptions options{.voices = voices};
  double bursts = 0;
  for (auto _ : state) {
    const Wanted wanted = wanted_from_score(score, profile(), options);
    bursts = static_cast<double>(wanted.bursts.size());
    state.counters["MB"] = static_cast<double>(wanted.bursts.capacity() * sizeof(WantedBurst)) / 1e6;
  }
  state.counters["bursts"] = bursts;
  state.counters["per_burst"] =
      benchmark::Counter(bursts, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(weave)
    ->ArgNames({"voices", "minutes"})
    ->ArgsProduct({{1, 4}, {1, 4, 10, 60, 600}})
    ->ArgsProduct({{16}, {1, 4, 10, 60}})
    ->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace burstloom
