#include "burstloom/coil/waveform.hpp"

#include <cmath>
#include <string>

#include "burstloom/common/error.hpp"
#include "current_walk.hpp"

namespace burstloom {
namespace {

using namespace current;

constexpr double kMostSteps = 1e8;

class Recorder {
 public:
  Recorder(const System& system, double drive_v, double every_us)
      : system_(system), drive_v_(drive_v), every_us_(every_us) {}

  void operator()(const Walk& walk) {
    const double now_us = walk.time_s() * 1e6;
    if (every_us_ < 0 || (!rows.empty() && now_us < rows.back().time_us + every_us_)) return;
    const State probe = walk.state() * (walk.frame() * drive_v_);
    const double push = system_.held_off * probe;
    const double tank_v = system_.held_off(kCharge) * probe(kCharge);
    const bool floats = walk.held() && !system_.current_fed();
    rows.push_back({now_us, floats ? push : probe(kDrive), probe(kPrimary), tank_v, probe(kSecondary),
                    probe(kTop), walk.state()(kFeed) * drive_v_});
  }

  std::vector<WaveformRow> rows;

 private:
  const System& system_;
  double drive_v_, every_us_;
};

void require_order(std::span<const GateBurst> bursts, double until_us, double step_s) {
  double free_us = 0;
  for (const GateBurst& burst : bursts) {
    if (!(burst.start_us >= free_us) || !(burst.on_us > 0))
      throw bad_input("a burst at " + std::to_string(burst.start_us) + " µs of " +
                          std::to_string(burst.on_us) + " µs overlaps the one before or has no length",
                      "", "give bursts in rising order and apart");
    free_us = burst.start_us + burst.on_us;
  }
  if (!(until_us >= free_us) || !(until_us * 1e-6 / step_s <= kMostSteps))
    throw bad_input("cannot simulate until " + std::to_string(until_us) + " µs", "",
                    "end after the last burst and simulate less at a time");
}

void drive(Walk& walk, const System& system, double on_s, Recorder& record) {
  walk.go_on(on_s, record);
  if (!system.circuit.stops_at_zero) return;
  // A driver whose current never crosses zero stops all the same, after what would be many half cycles.
  for (int steps = 0; !walk.just_switched() && steps < 10'000; ++steps) {
    walk.step(system.step_s);
    record(walk);
  }
}

// One burst and its ring-down until `until_s`, in volts and amperes.
BurstRun burst_and_ring(Walk& walk, const System& system, double drive_v, double on_s, double until_s,
                        Recorder& record) {
  BurstRun figures;
  figures.start_us = walk.time_s() * 1e6;
  const double start_s = walk.time_s(), square = drive_v * drive_v;
  walk.clear_sums();
  walk.begin_burst();
  drive(walk, system, on_s, record);
  figures.driven_us = (walk.time_s() - start_s) * 1e6;
  const Sums burst = walk.sums();
  walk.end_burst();
  if (until_s > walk.time_s()) walk.go_on(until_s - walk.time_s(), record);
  const Sums all = walk.sums();
  figures.peak_a = all.peak_a * drive_v;
  figures.tank_v = all.tank_v * drive_v;
  figures.energy_j = burst.energy_j * square;
  figures.returned_j = (burst.energy_j - all.energy_j) * square;
  figures.burst_i2t_a2s = burst.i2t_a2s * square;
  figures.ring_i2t_a2s = (all.i2t_a2s - burst.i2t_a2s) * square;
  figures.ring_charge_c = (all.charge_c - burst.charge_c) * drive_v;
  figures.commutations = burst.commutations;
  if (burst.commutations > 0) figures.commutated_a = burst.commutated_a / burst.commutations * drive_v;
  return figures;
}

}  // namespace

Waveform simulate(const Circuit& circuit, double drive_v, std::span<const GateBurst> bursts, double until_us,
                  double row_every_us) {
  const System system(circuit);
  require_order(bursts, until_us, system.step_s);
  Recorder record(system, drive_v, row_every_us);
  Walk walk(system);
  record(walk);
  Waveform waveform;
  for (std::size_t i = 0; i < bursts.size(); ++i) {
    const double start_s = bursts[i].start_us * 1e-6;
    if (start_s > walk.time_s()) walk.go_on(start_s - walk.time_s(), record);
    const double until_s = (i + 1 < bursts.size() ? bursts[i + 1].start_us : until_us) * 1e-6;
    waveform.bursts.push_back(burst_and_ring(walk, system, drive_v, bursts[i].on_us * 1e-6, until_s, record));
  }
  waveform.rows = std::move(record.rows);
  return waveform;
}

}  // namespace burstloom
