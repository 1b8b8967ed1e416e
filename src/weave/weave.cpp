#include "burstloom/weave/weave.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "train.hpp"
#include "voices.hpp"

namespace burstloom {
namespace {

using namespace weave_detail;

constexpr double kReferenceHz = 220.0;   // below it a burst's on-time no longer grows with a lower rate
constexpr double kLowestHz = 1.0;        // slower than this is no note
constexpr double kPeriodsOfSilence = 4;  // part one stretch of crossings from the next

void require_sane(const WeaveOptions& options) {
  const auto refuse = [](const std::string& what, const std::string& allowed) {
    return Error(Fault::usage, what, "", allowed);
  };
  if (options.voices < 1 || options.voices > 16)
    throw refuse(std::to_string(options.voices) + " voices", "choose 1 to 16");
  if (!(options.cap_of_period >= 0 && options.cap_of_period <= 0.5))
    throw refuse("a cap of " + std::to_string(options.cap_of_period) + " periods",
                 "choose one from 0 to 0.5");
  if (options.tick_hz < kLowestTickHz || options.tick_hz > kHighestTickHz)
    throw refuse("a tick rate of " + std::to_string(options.tick_hz) + " Hz",
                 "choose one from 1000 to 100000000 Hz");
}

// The highest note whose bursts can follow one another at all.
double highest_hz(const Profile& profile, std::int64_t tick_hz) {
  const CommandLimits limits = command_limits(profile);
  const double closest_us = limits.on_time_min_us + limits.gap_us + 2e6 / static_cast<double>(tick_hz);
  return std::min(1e6 / closest_us, profile.limits.break_rate_hz.value_or(1e6));
}

std::uint32_t weight_of(double velocity, Role role) {
  const double factor = role == Role::lead ? 4.0 : role == Role::bass ? 2.0 : 1.0;
  return static_cast<std::uint32_t>(
      std::lround(256 * factor * (0.25 + 0.75 * std::clamp(velocity, 0.0, 1.0))));
}

Tick cap_of(double period_ticks, const WeaveOptions& options) {
  return static_cast<Tick>(period_ticks * options.cap_of_period);
}

// A note's train with all that its bursts have in common.
struct Playing {
  Train train;
  Tick end;
  WantedBurst burst;
};

Playing playing_of(const Sounding& sounding, const Score& score, const Profile& profile,
                   const WeaveOptions& options) {
  const double hz = std::max(key_hz(sounding.key), kLowestHz);
  const double velocity = score.notes[sounding.note].velocity;
  const WantedBurst burst{.on = on_time_for(velocity, hz, profile, options.tick_hz),
                          .cap = cap_of(static_cast<double>(options.tick_hz) / hz, options),
                          .weight = weight_of(velocity, sounding.role),
                          .note = static_cast<std::uint32_t>(sounding.note),
                          .voice = static_cast<std::uint16_t>(sounding.voice)};
  return {Train(sounding.start_s, hz, options.tick_hz), nearest_tick(sounding.end_s, options.tick_hz), burst};
}

// Merges the trains of all notes, few of which sound at once, into one line in order of time.
std::vector<WantedBurst> merge_trains(const std::vector<Sounding>& sounding, const Score& score,
                                      const Profile& profile, const WeaveOptions& options) {
  std::vector<WantedBurst> bursts;
  std::vector<Playing> playing;
  for (std::size_t next = 0; next < sounding.size() || !playing.empty();) {
    const auto first =
        std::min_element(playing.begin(), playing.end(),
                         [](const Playing& a, const Playing& b) { return a.train.next() < b.train.next(); });
    const bool enters =
        next < sounding.size() &&
        (playing.empty() || nearest_tick(sounding[next].start_s, options.tick_hz) <= first->train.next());
    if (enters) {
      playing.push_back(playing_of(sounding[next++], score, profile, options));
    } else if (first->train.next() >= first->end) {
      playing.erase(first);
    } else {
      first->burst.start = first->train.next();
      bursts.push_back(first->burst);
      first->train.advance();
    }
  }
  return bursts;
}

}  // namespace

Tick on_time_for(double velocity, double hz, const Profile& profile, std::int64_t tick_hz) {
  const CommandLimits limits = command_limits(profile);
  const double loudness = std::pow(std::clamp(velocity, 0.0, 1.0), 4.0 / 3.0);
  const double share = loudness * (hz > kReferenceHz ? std::cbrt(kReferenceHz / hz) : 1.0);
  const double shortest = std::min(limits.on_time_min_us, limits.on_time_max_us);
  const double longest = std::max(shortest, std::min(limits.on_time_max_us, 0.5e6 / hz));
  const double ticks_per_us = static_cast<double>(tick_hz) / 1e6;
  const double on_us = shortest + (longest - shortest) * share;
  // Down, but never under a shortest on-time that is no whole tick.
  return std::max(static_cast<Tick>(std::floor(on_us * ticks_per_us + 1e-6)),
                  static_cast<Tick>(std::ceil(shortest * ticks_per_us - 1e-6)));
}

Wanted wanted_from_score(const Score& score, const Profile& profile, const WeaveOptions& options) {
  require_sane(options);
  const Shared shared = share_voices(score, options.voices, highest_hz(profile, options.tick_hz));
  Wanted wanted;
  wanted.bursts = merge_trains(shared.sounding, score, profile, options);
  wanted.length = nearest_tick(score.length_s, options.tick_hz);
  wanted.notes = {.read = static_cast<std::int64_t>(score.notes.size()),
                  .played = static_cast<std::int64_t>(shared.sounding.size()),
                  .skipped = shared.skipped,
                  .folded = std::count_if(shared.sounding.begin(), shared.sounding.end(),
                                          [](const Sounding& sounding) { return sounding.folded; }),
                  .stolen = shared.stolen};
  return wanted;
}

Wanted wanted_from_moments(const Moments& moments, double length_s, const Profile& profile,
                           const WeaveOptions& options) {
  require_sane(options);
  Wanted wanted;
  wanted.length = nearest_tick(length_s, options.tick_hz);
  wanted.bursts.reserve(moments.moments.size());
  double sounds_until_s = -1;
  for (const Moment& moment : moments.moments) {
    const double period_s = std::clamp(moment.period_s, 1e-5, 1 / 20.0);
    if (moment.at_s > sounds_until_s) ++wanted.notes.read;
    sounds_until_s = moment.at_s + kPeriodsOfSilence * period_s;
    wanted.bursts.push_back({.start = nearest_tick(moment.at_s, options.tick_hz),
                             .on = on_time_for(moment.strength, 1 / period_s, profile, options.tick_hz),
                             .cap = cap_of(period_s * static_cast<double>(options.tick_hz), options),
                             .weight = weight_of(moment.strength, Role::inner),
                             .note = static_cast<std::uint32_t>(wanted.notes.read - 1)});
  }
  wanted.notes.played = wanted.notes.read;
  return wanted;
}

Wanted wanted_from_track(const PitchTrack& track, double length_s, const Profile& profile,
                         const WeaveOptions& options) {
  require_sane(options);
  Wanted wanted;
  wanted.length = nearest_tick(length_s, options.tick_hz);
  const double highest = highest_hz(profile, options.tick_hz);
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
    WantedBurst burst{.on = on_time_for(point.strength, hz, profile, options.tick_hz),
                      .cap = cap_of(static_cast<double>(options.tick_hz) / hz, options),
                      .weight = weight_of(point.strength, Role::lead),
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
