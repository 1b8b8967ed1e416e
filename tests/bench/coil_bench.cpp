// How long a coil's table takes to build, and a look-up in it.
#include <benchmark/benchmark.h>

#include "burstloom/coil/current_table.hpp"

namespace burstloom {
namespace {

Profile coil(const std::string& name) {
  return read_profile(std::string(BURSTLOOM_SAMPLES) + "/coils/" + name + ".toml");
}

void table_build(benchmark::State& state, const char* name) {
  const Profile profile = coil(name);
  for (auto _ : state) benchmark::DoNotOptimize(CurrentTable(profile));
}
BENCHMARK_CAPTURE(table_build, bench_36v, "bench-36v")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(table_build, half_bridge_325v, "half-bridge-325v")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(table_build, full_bridge_560v, "full-bridge-560v")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(table_build, continuous_36v, "continuous-36v")->Unit(benchmark::kMillisecond);

void figures(benchmark::State& state) {
  const CurrentTable table(coil("bench-36v"));
  double on_us = 4;
  for (auto _ : state) {
    benchmark::DoNotOptimize(table.figures(on_us));
    on_us = on_us > 39 ? 4 : on_us + 0.5;
  }
}
BENCHMARK(figures);

}  // namespace
}  // namespace burstloom
