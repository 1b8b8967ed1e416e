// Nanoseconds a burst for heat, at the design's sample switch: 2 Foster pairs, case, sink.
#include <benchmark/benchmark.h>

#include <random>

#include "burstloom/coil/heat.hpp"

namespace burstloom {
namespace {

Profile sample() {
  Profile p;
  p.name = "bench";
  p.drive.bus_v = 36;
  p.limits.junction_c = 110;
  p.limits.heatsink_c = 70;
  p.switches.on_one_sink = 2;
  p.switches.rds_on_mohm = 40;
  p.switches.rds_on_factor_at_150c = 2;
  p.switches.rise_ns = p.switches.fall_ns = 30;
  p.switches.foster = {{0.2, 0.0002}, {0.6, 0.01}};
  p.heatsink = {2.0, 0.5, 6.0, 60.0, 25.0, 25.0, {}};
  return p;
}

BurstFigures figures(Tick on) {
  BurstFigures f;
  f.on_time_us = static_cast<double>(on) / 2;
  f.peak_current_a = 25;
  f.i2t_a2s = 25 * 25 * f.on_time_us * 0.4e-6;
  f.half_cycles = f.on_time_us * 2.4;
  f.commutation_current_a = 5;
  f.charge_ring_down_c = 40e-6;
  return f;
}

BurstStream song(std::size_t bursts) {
  BurstStream stream;
  std::mt19937 random(7);
  std::uniform_int_distribution<Tick> on(8, 100), gap(200, 6000);
  Tick now = 0;
  for (std::size_t i = 0; i < bursts; ++i) {
    stream.bursts.push_back({now, on(random)});
    now = stream.bursts.back().end() + gap(random);
  }
  stream.length = now;
  return stream;
}

void count(benchmark::State& state, std::size_t bursts) {
  state.counters["per_burst"] =
      benchmark::Counter(static_cast<double>(bursts),
                         benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

// The step alone: a burst and a gap, powers at hand.
void step(benchmark::State& state) {
  const HeatModel model(sample(), 2'000'000);
  const BurstStream stream = song(100'000);
  const PulsePower power = model.power(50, figures(50));
  for (auto _ : state) {
    Thermal thermal(model.network());
    double hottest = 0;
    Tick now = 0;
    for (const Burst& burst : stream.bursts) {
      hottest = std::max(hottest, thermal.gap_and_burst(burst.start - now, burst.on, power));
      now = burst.end();
    }
    benchmark::DoNotOptimize(hottest);
  }
  count(state, stream.bursts.size());
}
BENCHMARK(step);

// A whole stream: figures looked up by on-time, worst junction and sink, a curve of 1000 points.
void whole_stream(benchmark::State& state) {
  const HeatModel model(sample(), 2'000'000);
  const BurstStream stream = song(100'000);
  const FiguresOf figures_of = figures;
  for (auto _ : state)
    benchmark::DoNotOptimize(heat_of_stream(model, stream, figures_of, Thermal(model.network()), 1000));
  count(state, stream.bursts.size());
}
BENCHMARK(whole_stream);

// What a profile costs once.
void build_network(benchmark::State& state) {
  const Profile profile = sample();
  for (auto _ : state) benchmark::DoNotOptimize(HeatModel(profile, 2'000'000));
}
BENCHMARK(build_network)->Unit(benchmark::kMicrosecond);

}  // namespace
}  // namespace burstloom
