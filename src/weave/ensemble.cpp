#include "ensemble.hpp"

#include "burstloom/weave/ceiling.hpp"

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
                                   const WeaveOptions& options, double expected) {
  std::stable_sort(sounding.begin(), sounding.end(), [](const Sounding& a, const Sounding& b) {
    return a.start_s != b.start_s ? a.start_s < b.start_s : turn_of(a.part) < turn_of(b.part);
  });
  std::vector<WantedBurst> bursts;
  bursts.reserve(static_cast<std::size_t>(expected));
  const auto most = static_cast<std::size_t>(most_bursts(options.longest_s));
  const auto take = [&](const WantedBurst& burst) {
    bursts.emplace_back() = burst;
    if (bursts.size() > most)  // bends within notes were not expected
      require_within_ceiling(score.length_s, static_cast<double>(bursts.size()), options.longest_s);
  };
  Ensemble<WrittenExpression> ensemble(loudness, limits, options);
  for (const Sounding& next : sounding) {
    const Tick onset = nearest_tick(next.start_s, options.tick_hz);
    while (!ensemble.is_empty() && ensemble.first().next() < onset) ensemble.step(take);
    ensemble.enter(entering(next, score));
  }
  while (!ensemble.is_empty()) ensemble.step(take);
  return bursts;
}

}  // namespace burstloom::weave_detail
