#include "current_sweep.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "current_walk.hpp"

namespace burstloom::current {
namespace {

constexpr double kGrowth = 1.04;          // from row to row, once that is more than an eighth of a cycle
constexpr double kSettledGrowth = 1.1;    // the same once it has settled
constexpr double kSettled = 160;          // eighths of a cycle: before that nothing has settled
constexpr double kSameReach = 0.005;      // a change of what is stored that counts as none
constexpr double kMostCycles = 5000;      // nothing changes after so many
constexpr double kSmall = 0.01;           // of the largest current: rung down
constexpr int kMostRingSteps = 40'000;    // a thousand cycles: what rings on after them is residual
constexpr int kMostStepsToZero = 10'000;  // a current that never crosses zero: the driver stops all the same

// The held circuit (no primary current, the secondary ringing on by itself) over any time at once.
class Holding {
 public:
  explicit Holding(const System& system) : step_s_(system.step_s) {
    powers_.push_back(system.held.matrix());
    for (int i = 1; i < 40; ++i) powers_.push_back(powers_.back() * powers_.back());
  }
  /// Whole steps only, so up to one step less than asked for.
  [[nodiscard]] State after(State state, double seconds) const {
    auto steps = static_cast<std::uint64_t>(std::clamp(seconds / step_s_, 0.0, 1e11));
    for (std::size_t i = 0; steps > 0; ++i, steps >>= 1)
      if (steps & 1) state = powers_[i] * state;
    return state;
  }

 private:
  double step_s_;
  std::vector<Matrix> powers_;
};

// Where a row's burst ends, its ring-down begins. Figures are per volt until `scaled`.
class Ringing {
 public:
  Ringing(const System& system, const Holding& holding, Walk walk)
      : system_(system), holding_(holding), walk_(std::move(walk)) {}

  CurrentRow row(double on_us, double gap_s) {
    const double start_s = walk_.time_s();
    if (system_.circuit.stops_at_zero) finish_half_cycle();
    const Sums burst = walk_.sums();
    walk_.end_burst();
    const double ended_s = walk_.time_s();
    CurrentRow row;
    row.residual_a = ring_down(ended_s, start_s + gap_s);
    row.ring_down_s = walk_.time_s() - ended_s;
    row.figures = figures(on_us, burst, walk_.sums());
    given_back_j_ = burst.energy_j - walk_.sums().energy_j;
    return row;
  }
  [[nodiscard]] double given_back_j() const { return given_back_j_; }

  /// The same where the coil has settled: it rings down as it did at the row before.
  CurrentRow settled_row(double on_us, const CurrentRow& before, double given_back_j) const {
    CurrentRow row = before;
    row.figures = figures(on_us, walk_.sums(), walk_.sums());
    row.figures.energy_j = std::max(0.0, row.figures.energy_j - given_back_j);
    row.figures.i2t_ring_down_a2s = before.figures.i2t_ring_down_a2s;
    row.figures.charge_ring_down_c = before.figures.charge_ring_down_c;
    return row;
  }

 private:
  void finish_half_cycle() {
    for (int steps = 0; !walk_.just_switched() && steps < kMostStepsToZero; ++steps)
      walk_.step(system_.step_s);
  }

  // What oscillates and could add to the next burst. A charge that diodes hold in a series-resonant tank does
  // not; the carried start has it.
  [[nodiscard]] double could_add_a(State state) const {
    if (system_.circuit.kind != PrimaryKind::series_resonant) return 0;
    if (walk_.held()) state(kCharge) = 0;
    return system_.could_reach_a(state);
  }

  // Until little can come back; returns what could when the next burst begins, or earlier: what is stored
  // only falls.
  double ring_down(double ended_s, double next_s) {
    const double small_a = kSmall * walk_.sums().peak_a;
    double residual = could_add_a(walk_.state());
    for (int steps = 0; steps < kMostRingSteps && !walk_.at_rest_for_good(); ++steps) {
      if (system_.could_reach_a(walk_.state()) <= small_a) break;
      walk_.step(system_.step_s);
      if (walk_.time_s() <= std::max(next_s, ended_s)) residual = could_add_a(walk_.state());
    }
    if (walk_.at_rest_for_good() && walk_.time_s() < next_s)
      residual = could_add_a(holding_.after(walk_.state(), next_s - walk_.time_s()));
    return residual;
  }

  [[nodiscard]] BurstFigures figures(double on_us, const Sums& burst, const Sums& all) const {
    BurstFigures figures;
    figures.on_time_us = on_us;
    figures.peak_current_a = all.peak_a;
    figures.energy_j = std::max(0.0, all.energy_j);
    figures.i2t_a2s = burst.i2t_a2s;
    figures.charge_c = burst.charge_c;
    figures.i2t_ring_down_a2s = all.i2t_a2s - burst.i2t_a2s;
    figures.charge_ring_down_c = all.charge_c - burst.charge_c;
    figures.half_cycles = burst.commutations;
    if (burst.commutations > 0) figures.commutation_current_a = burst.commutated_a / burst.commutations;
    figures.tank_capacitor_v = all.tank_v;
    // The tank lies across the whole winding, and so does a switch that is off.
    if (system_.current_fed()) figures.switch_v = all.tank_v;
    return figures;
  }

  const System& system_;
  const Holding& holding_;
  Walk walk_;
  double given_back_j_ = 0;
};

void scale(CurrentRow& row, double volts) {
  BurstFigures& f = row.figures;
  const double square = volts * volts;
  for (double* linear : {&f.peak_current_a, &f.charge_c, &f.charge_ring_down_c, &f.commutation_current_a,
                         &f.tank_capacitor_v, &f.switch_v, &row.residual_a})
    *linear *= volts;
  for (double* squared : {&f.energy_j, &f.i2t_a2s, &f.i2t_ring_down_a2s}) *squared *= square;
}

Walk walk_from(const System& system, Start start, double longest_us, double gap_us) {
  Walk walk(system);
  if (start == Start::rest) return walk;
  if (system.circuit.kind == PrimaryKind::series_resonant) {
    walk.charge_tank();
    return walk;
  }
  const auto unseen = [](const Walk&) {};
  walk.begin_burst();
  walk.go_on(longest_us * 1e-6, unseen);
  walk.end_burst();
  walk.go_on(gap_us * 1e-6, unseen);
  walk.clear_sums();
  return walk;
}

}  // namespace

std::vector<double> on_times_us(const Circuit& circuit, double longest_us) {
  const double eighth_us = System(circuit).step_s * 4e6;
  longest_us = std::min(longest_us, kMostCycles * 8 * eighth_us);
  std::vector<double> times;
  for (double on_us = 0; on_us < longest_us * (1 - 1e-9);) {
    const double growth = on_us < kSettled * eighth_us ? kGrowth : kSettledGrowth;
    on_us = std::min(std::max(on_us + eighth_us, on_us * growth), longest_us);
    times.push_back(on_us);
  }
  return times;
}

std::vector<CurrentRow> sweep(const Circuit& circuit, double drive_v, const std::vector<double>& on_us,
                              double gap_us, Start start) {
  const System system(circuit);
  const Holding holding(system);
  Walk walk = walk_from(system, start, on_us.back(), gap_us);
  const double start_s = walk.time_s();
  walk.begin_burst();
  std::vector<CurrentRow> rows;
  rows.reserve(on_us.size());
  double rung_from_a = 0, given_back_j = 0;  // of the last row that was let ring down
  for (const double on : on_us) {
    walk.go_on(start_s + on * 1e-6 - walk.time_s(), [](const Walk&) {});
    const double reach_a = system.could_reach_a(walk.state());
    Ringing ringing(system, holding, walk);
    if (on > kSettled * on_us.front() && std::abs(reach_a - rung_from_a) < kSameReach * reach_a) {
      rows.push_back(ringing.settled_row(on, rows.back(), given_back_j));
    } else {
      rows.push_back(ringing.row(on, gap_us * 1e-6));
      rung_from_a = reach_a;
      given_back_j = ringing.given_back_j();
    }
    if (rows.size() < 2) continue;
    // A longer burst has had the shorter one's peak on its way.
    double& peak_a = rows.back().figures.peak_current_a;
    peak_a = std::max(peak_a, rows[rows.size() - 2].figures.peak_current_a);
  }
  for (CurrentRow& row : rows) scale(row, drive_v);
  return rows;
}

}  // namespace burstloom::current
