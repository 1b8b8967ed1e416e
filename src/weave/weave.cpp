#include "burstloom/weave/weave.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "burstloom/listen/listen.hpp"
#include "burstloom/weave/ceiling.hpp"
#include "drums.hpp"
#include "ensemble.hpp"
#include "expected.hpp"
#include "loudness.hpp"
#include "parts.hpp"
#include "range.hpp"
#include "train_limits.hpp"
#include "voices.hpp"
#include "weights.hpp"

namespace burstloom {
namespace {

using namespace weave_detail;

constexpr double kLowestHz = 1.0;        // slower than this is no note
constexpr double kPeriodsOfSilence = 4;  // part one stretch of crossings from the next

Tick cap_of(double period_ticks, const WeaveOptions& options) {
  return static_cast<Tick>(period_ticks * options.cap_of_period);
}

Tick on_time_of(const Loudness& loudness, double velocity, double hz) {
  return loudness.on_time(power_of(std::clamp(velocity, 0.0, 1.0), hz), hz);
}

// In place from the back: a long song's bursts are not held twice. Of two at one moment, `all`'s comes first.
void merge_into(std::vector<WantedBurst>& all, const std::vector<WantedBurst>& more) {
  auto left = static_cast<std::ptrdiff_t>(all.size());
  all.resize(all.size() + more.size());
  auto to = all.end();
  for (auto next = more.rbegin(); next != more.rend(); *--to = *next++)
    for (; left > 0 && all[static_cast<std::size_t>(left - 1)].start > next->start; --left)
      *--to = all[static_cast<std::size_t>(left - 1)];
}

std::vector<NoteFate> in_order(std::vector<NoteFate> a, const std::vector<NoteFate>& b) {
  a.insert(a.end(), b.begin(), b.end());
  std::stable_sort(a.begin(), a.end(), [](const NoteFate& x, const NoteFate& y) {
    return std::tie(x.note, x.from_s) < std::tie(y.note, y.from_s);
  });
  return a;
}

NoteCounts counts_of(const Score& score, const std::vector<NoteFate>& fates) {
  const auto count = [&](NoteFateKind kind) {
    return std::count_if(fates.begin(), fates.end(),
                         [kind](const NoteFate& fate) { return fate.what == kind; });
  };
  const auto folded = count(NoteFateKind::folded);
  return {.read = static_cast<std::int64_t>(score.notes.size()),
          .played = count(NoteFateKind::played) + folded,
          .skipped = count(NoteFateKind::skipped),
          .folded = folded,
          .stolen = count(NoteFateKind::stolen)};
}

}  // namespace

double plucked_decay_s(double key) {
  return std::clamp(1.2 * std::exp2((69 - key) / 24), 0.2, 4.0);
}

Tick on_time_for(double velocity, double hz, const Profile& profile, std::int64_t tick_hz) {
  return on_time_of(Loudness(profile, tick_hz), velocity, hz);
}

Wanted wanted_from_score(const Score& score, const Profile& profile, const WeaveOptions& options) {
  require_sane(options);
  const TrainLimits limits = train_limits(profile, options.tick_hz);
  const Loudness loudness(profile, options.tick_hz);
  const std::vector<int> octaves = octaves_moved(score, kFloorHz, limits.highest_hz);
  Shared shared = share_voices(score, options.voices, parts_of(score), octaves);
  const double expected = expected_bursts(shared.sounding, score, limits.highest_hz);
  require_within_ceiling(score.length_s, expected + expected_drum_bursts(score), options.longest_s);
  const Drummed drummed =
      drum_gestures(score, loudness, limits, options, static_cast<std::uint16_t>(options.voices));
  Wanted wanted;
  wanted.bursts = bursts_of(std::move(shared.sounding), score, loudness, limits, options,
                            expected + static_cast<double>(drummed.bursts.size()));
  merge_into(wanted.bursts, drummed.bursts);
  wanted.length = nearest_tick(score.length_s, options.tick_hz);
  wanted.fates = in_order(std::move(shared.fates), drummed.fates);
  wanted.notes = counts_of(score, wanted.fates);
  return wanted;
}

Wanted wanted_from_moments(const Moments& moments, double length_s, const Profile& profile,
                           const WeaveOptions& options) {
  require_sane(options);
  require_within_ceiling(length_s, static_cast<double>(moments.moments.size()), options.longest_s);
  const Loudness loudness(profile, options.tick_hz);
  Wanted wanted;
  wanted.length = nearest_tick(length_s, options.tick_hz);
  wanted.bursts.reserve(moments.moments.size());
  double sounds_until_s = -1;
  for (const Moment& moment : moments.moments) {
    const double period_s = std::clamp(moment.period_s, 1e-5, 1 / 20.0);
    if (moment.at_s > sounds_until_s) ++wanted.notes.read;
    sounds_until_s = moment.at_s + kPeriodsOfSilence * period_s;
    wanted.bursts.push_back({.start = nearest_tick(moment.at_s, options.tick_hz),
                             .on = on_time_of(loudness, moment.strength, 1 / period_s),
                             .cap = cap_of(period_s * static_cast<double>(options.tick_hz), options),
                             .weight = burst_weight(moment.strength, Part::inner),
                             .note = static_cast<std::uint32_t>(wanted.notes.read - 1)});
  }
  wanted.notes.played = wanted.notes.read;
  return wanted;
}

Wanted wanted_from_track(const PitchTrack& track, double length_s, const Profile& profile,
                         const WeaveOptions& options) {
  require_sane(options);
  const Loudness loudness(profile, options.tick_hz);
  Wanted wanted;
  wanted.length = nearest_tick(length_s, options.tick_hz);
  const double highest = train_limits(profile, options.tick_hz).highest_hz;
  require_within_ceiling(length_s, expected_bursts(track, length_s, highest), options.longest_s);
  double due = 0;  // periods until the next burst; a stretch of voice starts with one
  bool sounding = false;
  for (std::size_t i = 0; i < track.points.size(); ++i) {
    const PitchPoint& point = track.points[i];
    const bool voiced = point.hz >= kLowestHz && point.strength > 0;
    if (voiced && !sounding) {
      due = 0;
      ++wanted.notes.read;
    }
    sounding = voiced;
    if (!voiced) continue;
    double hz = point.hz;
    while (hz > highest) hz /= 2;
    const double until_s = i + 1 < track.points.size() ? track.points[i + 1].at_s : length_s;
    WantedBurst burst{.on = on_time_of(loudness, point.strength, hz),
                      .cap = cap_of(static_cast<double>(options.tick_hz) / hz, options),
                      .weight = burst_weight(point.strength, Part::lead),
                      .note = static_cast<std::uint32_t>(wanted.notes.read - 1)};
    double at_s = point.at_s + due / hz;
    for (; at_s < until_s; at_s += 1 / hz) {
      burst.start = nearest_tick(at_s, options.tick_hz);
      wanted.bursts.push_back(burst);
    }
    due = (at_s - until_s) * hz;
  }
  wanted.notes.played = wanted.notes.read;
  return wanted;
}

}  // namespace burstloom
