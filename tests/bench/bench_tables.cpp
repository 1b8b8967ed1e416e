// Nanoseconds a burst of making a header's table, step by step, for a song of four minutes and 16 channels.
#include <benchmark/benchmark.h>

#include "burstloom/guard/guard.hpp"
#include "burstloom/sets/weave_one.hpp"
#include "project_files.hpp"
#include "stream_tables.hpp"
#include "support/sixteen_channels.hpp"

namespace burstloom {
namespace {

using namespace table_detail;

// Quick enough for the chip; 16 voices of their own would not be.
TableInput song() {
  Profile profile;
  profile.name = "bench";
  profile.limits.on_time_min_us = 5;
  profile.limits.on_time_max_us = 60;
  profile.limits.gap_us = 300;
  profile.limits.duty = {{20, 8}, {1000, 6}};
  const Score score = testing::sixteen_channel_score(240, 16);
  const Wanted wanted = wanted_from_score(score, profile, {.voices = 4});
  const Guarded guarded = place(wanted.bursts, profile, kDefaultTickHz, wanted.length);
  return {.stream = guarded.stream,
          .title = score.title,
          .profile = profile,
          .account = account_of(score, wanted.fates, guarded, profile)};
}

// `step(input, target, limits)` for a chip that holds all of it.
template <class Step>
void run(benchmark::State& state, Step step) {
  static const TableInput input = song();
  static const Target& target = target_named("rp2040");
  const CompiledLimits limits = compiled_limits(input, target);
  for (auto _ : state) benchmark::DoNotOptimize(step(input, target, limits));
  const auto bursts = static_cast<double>(input.stream.bursts.size());
  state.counters["bursts"] = bursts;
  state.counters["per_burst"] =
      benchmark::Counter(bursts, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void guard_run_over(benchmark::State& state) {
  run(state, [](const TableInput& input, const Target& target, const CompiledLimits& limits) {
    require_playable(input, target, limits);
    return 0;
  });
}
void table_of_pairs(benchmark::State& state) {
  run(state, [](const TableInput& input, const Target&, const CompiledLimits& limits) {
    return finished_table(Encoding::pairs, pair_data(input.stream), input.stream, limits);
  });
}
void smallest_table(benchmark::State& state) {
  run(state, [](const TableInput& input, const Target& target, const CompiledLimits& limits) {
    return StreamTables(input).smallest_table(target, limits);
  });
}
void text_of_pairs(benchmark::State& state) {
  static const Bytes table = pair_data(song().stream);
  run(state, [](const auto&...) { return header_text("", "", table); });
}
void whole_header(benchmark::State& state) {
  run(state, [](const TableInput& input, const Target& target, const CompiledLimits&) {
    return table_header(input, target);
  });
}
BENCHMARK(guard_run_over)->Unit(benchmark::kMillisecond);
BENCHMARK(table_of_pairs)->Unit(benchmark::kMillisecond);
BENCHMARK(smallest_table)->Unit(benchmark::kMillisecond);
BENCHMARK(text_of_pairs)->Unit(benchmark::kMillisecond);
BENCHMARK(whole_header)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace burstloom
