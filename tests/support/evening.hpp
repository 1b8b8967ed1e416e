// Evenings made up: songs of several voices, and a capture of their being played with faults that are known.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom::testing {

/// A song of so many seconds: `voices` voices play notes from 80 to 700 Hz, a burst each period, at least 100
/// us apart.
inline BurstStream made_up_song(std::uint64_t seed, double seconds, int voices = 3) {
  std::mt19937_64 random(seed);
  std::vector<Burst> wanted;
  for (int voice = 0; voice < voices; ++voice)
    for (double at_s = 0.01 * voice; at_s < seconds;) {
      const double hz = 80 * std::exp2(static_cast<double>(random() % 37) / 12);
      const double note_s = 0.1 * static_cast<double>(1 + random() % 6);
      const auto on = static_cast<Tick>(20 + random() % 60);
      if (random() % 8 != 0)
        for (double t = at_s; t < std::min(seconds, at_s + note_s); t += 1 / hz)
          wanted.push_back({static_cast<Tick>(std::llround(t * 2e6)), on});
      at_s += note_s;
    }
  std::sort(wanted.begin(), wanted.end(), [](const Burst& a, const Burst& b) { return a.start < b.start; });
  BurstStream song{2'000'000, static_cast<Tick>(seconds * 2e6), {}};
  for (const Burst& burst : wanted)
    if ((song.bursts.empty() || burst.start >= song.bursts.back().end() + 200) && burst.end() <= song.length)
      song.bursts.push_back(burst);
  return song;
}

/// How a song is played.
struct Performance {
  std::size_t song = 0;
  double pause_s = 2;                          ///< before it
  double ratio = 1;                            ///< how much longer it takes than written
  double jitter_us = 0;                        ///< each start is off by up to this
  std::size_t from = 0, until = SIZE_MAX;      ///< which of its bursts
  double lost = 0, added = 0, lengthened = 0;  ///< shares of its bursts, but for the first and last forty
};

struct Evening {
  BurstStream capture;
  struct Played {
    double start_s = 0, end_s = 0;
    std::int64_t bursts = 0, missing = 0, extra = 0, wrong_on_time = 0;
  };
  std::vector<Played> truth;  ///< one for each performance
};

/// The capture at 10 MHz of songs of 2 MHz, played one after another; sink by sink for long ones:
/// `take(burst)`.
template <class Take>
std::vector<Evening::Played> perform(const std::vector<BurstStream>& songs,
                                     const std::vector<Performance>& evening, std::uint64_t seed, Take take) {
  constexpr double kCapture_hz = 1e7;
  std::mt19937_64 random(seed);
  const auto share = [&] { return static_cast<double>(random() % 1'000'000) / 1e6; };
  std::vector<Evening::Played> truth;
  double now_s = 0;
  Tick free_from = 0;
  const auto play = [&](double start_s, double on_s) {
    const auto start = static_cast<Tick>(std::llround(start_s * kCapture_hz));
    const auto on = static_cast<Tick>(std::llround(on_s * kCapture_hz));
    free_from = start + on;
    take(Burst{start, on});
    return Burst{start, on};
  };
  for (const Performance& it : evening) {
    const std::vector<Burst>& bursts = songs[it.song].bursts;
    const std::size_t until = std::min(it.until, bursts.size());
    const double zero_s = now_s + it.pause_s - static_cast<double>(bursts[it.from].start) / 2e6 * it.ratio;
    Evening::Played played;
    for (std::size_t i = it.from; i < until; ++i) {
      const bool inside = i >= it.from + 40 && i + 40 < until;
      const double own_s = static_cast<double>(bursts[i].start) / 2e6,
                   on_s = static_cast<double>(bursts[i].on) / 2e6;
      if (inside && share() < it.lost) {
        ++played.missing;
        continue;
      }
      const bool longer = inside && share() < it.lengthened;
      const double at_s = zero_s + own_s * it.ratio + it.jitter_us * 1e-6 * (2 * share() - 1);
      const Burst burst = play(at_s, on_s * it.ratio + (longer ? 5e-6 : 0));
      if (played.bursts++ == 0) played.start_s = static_cast<double>(burst.start) / kCapture_hz;
      played.end_s = static_cast<double>(burst.end()) / kCapture_hz;
      played.wrong_on_time += longer ? 1 : 0;
      // One that does not belong there, where there is room for it.
      const double next_s =
          i + 1 < until ? zero_s + static_cast<double>(bursts[i + 1].start) / 2e6 * it.ratio : at_s;
      if (inside && next_s - played.end_s > 400e-6 && share() < it.added) {
        play(played.end_s + 150e-6, 20e-6);
        ++played.extra;
      }
    }
    now_s = played.end_s;
    truth.push_back(played);
  }
  return truth;
}

inline Evening make_evening(const std::vector<BurstStream>& songs, const std::vector<Performance>& how,
                            std::uint64_t seed) {
  Evening evening;
  evening.capture.tick_hz = 10'000'000;
  evening.truth = perform(songs, how, seed, [&](Burst burst) { evening.capture.bursts.push_back(burst); });
  evening.capture.length = evening.capture.bursts.back().end() + 10'000'000;
  return evening;
}

}  // namespace burstloom::testing
