#include "phase.hpp"

#include <cmath>
#include <cstdint>

namespace burstloom::weave_detail {
namespace {

constexpr int kBeginnings = 32;
constexpr int kBursts = 64;
constexpr double kTurn = 4294967296.0;  // phases are parts of a turn in 32 bits: they wrap by themselves

std::uint32_t turns(double ticks, double period) {
  const double part = ticks / period;
  return static_cast<std::uint32_t>(static_cast<std::int64_t>((part - std::floor(part)) * kTurn));
}

// The sum of squared overlaps (ticks) with the other's bursts, when the newcomer begins at `at`.
double collision(const Sequence& newcomer, double at, const Sequence& other, std::uint32_t step) {
  std::uint32_t phase = turns(at - static_cast<double>(other.next), other.period);
  // The other's burst needs `busy` of its own after it, and the newcomer's as much before it.
  const double ticks_per_unit = other.period / kTurn;
  const auto after = static_cast<double>(other.busy), before = static_cast<double>(newcomer.busy);
  double sum = 0;
  for (int k = 0; k < kBursts; ++k, phase += step) {
    const double late = phase * ticks_per_unit, early = other.period - late;
    if (late >= after && early >= before) continue;  // most of them
    const double overlap = late < after ? after - late : 0;
    const double overlap_with_next = early < before ? before - early : 0;
    sum += overlap * overlap + overlap_with_next * overlap_with_next;
  }
  return sum;
}

}  // namespace

Tick best_delay(const Sequence& newcomer, const std::vector<Sequence>& others, Tick latest) {
  if (others.empty() || latest < 1) return 0;
  double best = 0;
  Tick best_delay = 0, last = -1;
  for (int k = 0; k < kBeginnings; ++k) {
    const Tick delay = latest * k / kBeginnings;
    if (delay == last) continue;
    last = delay;
    double sum = 0;
    for (std::size_t i = 0; i < others.size() && (k == 0 || sum < best); ++i)  // it can only grow
      sum += collision(newcomer, static_cast<double>(newcomer.next + delay), others[i],
                       turns(newcomer.period, others[i].period));
    if (k == 0 || sum < best) best = sum, best_delay = delay;
    if (best == 0) break;
  }
  return best_delay;
}

}  // namespace burstloom::weave_detail
