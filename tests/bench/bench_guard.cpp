// Nanoseconds a wanted burst that placing takes: limit by limit, where limits bind and where they do not, and
// as music grows.
#include <benchmark/benchmark.h>

#include <functional>
#include <string>

#include "burstloom/common/files.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/score/write_midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "support/sixteen_channels.hpp"

namespace burstloom {
namespace {

const std::string kSamples = BURSTLOOM_SAMPLES;

void measure(benchmark::State& state, const Wanted& wanted, const Profile& profile, Placing placing) {
  std::size_t changed = 0;
  for (auto _ : state)
    changed = place(wanted.bursts, profile, kDefaultTickHz, wanted.length, placing).ledger.entries.size();
  const auto bursts = static_cast<double>(wanted.bursts.size());
  state.counters["bursts"] = bursts;
  state.counters["changed"] = static_cast<double>(changed);
  state.counters["a_burst"] =
      benchmark::Counter(bursts, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

// Songs are made when their turn comes: ten hours of notes are not kept for those who measure something else.
using MakeScore = std::function<Score()>;

void add(const std::string& name, const MakeScore& score, const Profile& profile, int voices,
         Placing placing = Placing::ahead) {
  benchmark::RegisterBenchmark(name.c_str(), [=](benchmark::State& state) {
    measure(state, wanted_from_score(score(), profile, {.voices = voices}), profile, placing);
  })->Unit(benchmark::kMillisecond);
}

MakeScore long_song(int minutes) {
  return [=] { return testing::sixteen_channel_score(60 * minutes, 16); };
}

// A coil with nothing but a gap: the parts of the line that every music passes.
Profile bare(Profile profile) {
  profile.limits.duty = {{1000, 100}};
  profile.limits.break_rate_hz.reset();
  profile.limits.supply_w.reset();
  profile.limits.tank_capacitor_a_rms.reset();
  profile.limits.junction_c.reset();
  profile.limits.heatsink_c.reset();
  return profile;
}

// Limit after limit, each at `share` of what the coil's own file allows: at 1 little binds, at a third most
// do.
void add_limits_one_by_one(const std::string& regime, const MakeScore& score, const Profile& full,
                           double share) {
  const auto add_step = [&](const char* what, const Profile& profile) {
    add(regime + what, score, profile, 3);
  };
  Profile profile = bare(full);
  add_step("gap", profile);
  profile.limits.duty = {full.limits.duty.at(0)};
  profile.limits.duty[0].percent *= share;
  add_step("one duty window", profile);
  profile.limits.duty.push_back(full.limits.duty.at(1));
  profile.limits.duty[1].percent *= share;
  add_step("two duty windows", profile);
  const Profile timed = profile;
  const auto with = [&](const char* what, auto set) {
    Profile one = timed;
    set(one);
    set(profile);
    add_step(what, one);
  };
  with("two, and break rate",
       [&](Profile& p) { p.limits.break_rate_hz = *full.limits.break_rate_hz * share; });
  with("two, and tank current",
       [&](Profile& p) { p.limits.tank_capacitor_a_rms = *full.limits.tank_capacitor_a_rms * share; });
  with("two, and supply", [&](Profile& p) { p.limits.supply_w = *full.limits.supply_w * share; });
  with("two, and heat", [&](Profile& p) {
    p.limits.junction_c =
        full.heatsink.ambient_c + (*full.limits.junction_c - full.heatsink.ambient_c) * share;
    p.limits.heatsink_c =
        full.heatsink.ambient_c + (*full.limits.heatsink_c - full.heatsink.ambient_c) * share;
  });
  add_step("all", profile);
}

void add_all() {
  const MakeScore song = long_song(4);
  const Profile heron = read_profile(kSamples + "/coils/half-bridge-325v.toml");
  add_limits_one_by_one("free/", song, heron, 2);
  add_limits_one_by_one("bound/", song, heron, 0.06);
  const MakeScore quayside = [] { return read_midi_score(kSamples + "/quayside-lanterns.mid"); };
  for (const char* coil : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"}) {
    const Profile profile = read_profile(kSamples + "/coils/" + coil + ".toml");
    add(std::string("quayside/") + coil, quayside, profile, 3);
    add(std::string("quayside causal/") + coil, quayside, profile, 3, Placing::causal);
    add(std::string("long song/") + coil, song, profile, 3);
  }
  for (const int minutes : {1, 10, 60, 600})
    add("minutes/" + std::to_string(minutes), long_song(minutes), heron, 3);
  for (const int voices : {1, 2, 4, 8, 16}) add("voices/" + std::to_string(voices), song, heron, voices);
}

}  // namespace
}  // namespace burstloom

int main(int argc, char** argv) {
  using namespace burstloom;
  benchmark::Initialize(&argc, argv);
  add_all();
  benchmark::RunSpecifiedBenchmarks();
}
