#include "ensemble.hpp"

namespace burstloom::weave_detail {
namespace {

// The lead chooses its phase before the others, which then have to find room around it.
int turn_of(Part part) {
  return part == Part::lead ? 0 : part == Part::bass ? 1 : 2;
}

Entering<WrittenExpression> entering(const Sounding& sounding, const Score& score) {
  const Note& note = score.notes[sounding.note];
  return {sounding, note.key, note.envelope, {&score.channels[static_cast<std::size_t>(note.channel & 15)]}};
}

}  // namespace

std::vector<WantedBurst> bursts_of(std::vector<Sounding> sounding, const Score& score,
                                   const Loudness& loudness, const TrainLimits& limits,
                                   const WeaveOptions& options) {
  std::stable_sort(sounding.begin(), sounding.end(), [](const Sounding& a, const Sounding& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : turn_of(a.part) < turn_of(b.part);
  });
  std::vector<WantedBurst> bursts;
  Ensemble<WrittenExpression> ensemble(loudness, limits, options);
  for (std::size_t next = 0; next < sounding.size() || !ensemble.is_empty();) {
    const bool enters = next < sounding.size() &&
                        (ensemble.is_empty() ||
                         nearest_tick(sounding[next].start_s, options.tick_hz) <= ensemble.first().next());
    if (enters)
      ensemble.enter(entering(sounding[next++], score));
    else if (const auto burst = ensemble.step())
      bursts.push_back(*burst);
  }
  return bursts;
}

}  // namespace burstloom::weave_detail
