// What judging costs, part by part: a woven song over and over, 10 million bursts in blocks. Nanoseconds a
// burst stand in the column per_burst.
#include <benchmark/benchmark.h>

#include <map>
#include <string>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom {
namespace {

constexpr std::size_t kBursts = 10'000'000;
const std::string kSamples = BURSTLOOM_SAMPLES;

struct Evening {
  Profile profile;
  BurstStream song;
};

const Evening& evening_on(const std::string& coil) {
  static std::map<std::string, Evening> made;
  const auto [place_of, is_new] = made.try_emplace(coil);
  if (!is_new) return place_of->second;
  const Profile profile = read_profile(kSamples + "/coils/" + coil + ".toml");
  const Wanted wanted = wanted_from_score(read_midi_score(kSamples + "/quayside-lanterns.mid"), profile, {});
  place_of->second = {profile, place(wanted.bursts, profile, kDefaultTickHz, wanted.length).stream};
  return place_of->second;
}

// On-time and gap are judged of every profile; of all else only what a part leaves in it.
enum Part { bare, one_duty, two_duties, break_rate, peak_current, supply, heat, everything };

Profile with(Part part, const Profile& whole) {
  if (part == everything) return whole;
  Profile profile = whole;
  Limits& limits = profile.limits;
  limits = {};
  limits.on_time_min_us = whole.limits.on_time_min_us;
  limits.on_time_max_us = whole.limits.on_time_max_us;
  limits.gap_us = whole.limits.gap_us;
  if (part == one_duty || part == two_duties) limits.duty.assign(part == one_duty ? 1 : 2, {10, 100});
  if (part == two_duties) limits.duty.back().window_ms = 1000;
  if (part == break_rate) limits.break_rate_hz = whole.limits.break_rate_hz.value_or(1e4);
  if (part == peak_current) limits.peak_current_a = 1e4;
  if (part == supply) limits.supply_w = 1e5;
  if (part == heat) limits.junction_c = limits.heatsink_c = 200;
  const bool takes_model = part == peak_current || part == supply || part == heat;
  if (!takes_model) profile.primary = {};
  if (part != heat) profile.heatsink = {};
  return profile;
}

void judging(benchmark::State& state, const char* coil, Part part) {
  const Evening& evening = evening_on(coil);
  const Profile profile = with(part, evening.profile);
  RunningJudge(profile, kDefaultTickHz, {});  // the coil's table is built once
  const std::size_t rounds = kBursts / evening.song.bursts.size();
  std::vector<Burst> block;
  std::size_t judged = 0;
  for (auto _ : state) {
    RunningJudge judge(profile, kDefaultTickHz, {.seek_rest = false});
    Tick began = 0;
    for (std::size_t round = 0; round < rounds; ++round, began += evening.song.length) {
      block = evening.song.bursts;
      for (Burst& burst : block) burst.start += began;
      judge.take(block);
    }
    benchmark::DoNotOptimize(judge.finish(began, false));
    judged = rounds * evening.song.bursts.size();
  }
  state.counters["per_burst"] =
      benchmark::Counter(static_cast<double>(judged),
                         benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

const std::pair<const char*, Part> kParts[] = {{"bare", bare},
                                               {"one_duty", one_duty},
                                               {"two_duties", two_duties},
                                               {"break_rate", break_rate},
                                               {"peak_current", peak_current},
                                               {"supply", supply},
                                               {"heat", heat},
                                               {"everything", everything}};

const int kRegistered = [] {
  for (const char* coil : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"})
    for (const auto& [name, part] : kParts)
      benchmark::RegisterBenchmark((std::string(name) + "/" + coil).c_str(), judging, coil, part)
          ->Unit(benchmark::kMillisecond)
          ->Iterations(1);
  return 0;
}();

}  // namespace
}  // namespace burstloom
