// Writes docs/reference/placement.md: what placing costs against delay-until-free, at the same limits and the
// same cap.
//   bench_placement > docs/reference/placement.md
#include <chrono>
#include <cmath>
#include <cstdio>
#include <string>

#include "burstloom/guard/guard.hpp"
#include "burstloom/guard/voice_report.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "support/chord_tests.hpp"
#include "support/delay_until_free.hpp"
#include "support/placing_cost.hpp"

namespace burstloom {
namespace {

const std::string kSamples = BURSTLOOM_SAMPLES;

// The coil with the gap alone left to settle: duty and break rate cost both ways the same bursts or more.
Profile gap_alone(Profile profile) {
  profile.limits.duty = {{1000, 100}};
  profile.limits.break_rate_hz.reset();
  return profile;
}

Tick gap_ticks(const Profile& profile) {
  return static_cast<Tick>(std::ceil(command_limits(profile).gap_us * kDefaultTickHz / 1e6 - 1e-6));
}

struct Cost {
  double lost_percent = 0, rms_us = 0;
};

Cost of_delaying(const Wanted& wanted, const Profile& profile) {
  const auto delayed = testing::delay_until_free(wanted.bursts, gap_ticks(profile));
  return {100 * static_cast<double>(delayed.lost) / static_cast<double>(wanted.bursts.size()),
          delayed.rms_move * 1e6 / kDefaultTickHz};
}

Cost of_placing(const Wanted& wanted, const Profile& profile) {
  const Guarded guarded = place(wanted.bursts, profile, kDefaultTickHz, wanted.length);
  const auto cost = testing::placing_cost(wanted.bursts, guarded);
  return {100 * cost.lost / static_cast<double>(wanted.bursts.size()), cost.rms_move * 1e6 / kDefaultTickHz};
}

void row(const std::string& what, const Score& score, const Profile& profile, int voices, double cap) {
  const auto woven = [&](bool choose_phase) {
    return wanted_from_score(score, profile,
                             {.voices = voices, .cap_of_period = cap, .choose_phase = choose_phase});
  };
  const Wanted plain = woven(false), chosen = woven(true);
  const Cost delay = of_delaying(plain, profile), placed = of_placing(plain, profile),
             both = of_placing(chosen, profile);
  std::printf("| %s | %g | %.2f | %.2f | %.2f | %.0f | %.0f | %.0f |\n", what.c_str(), cap,
              delay.lost_percent, placed.lost_percent, both.lost_percent, delay.rms_us, placed.rms_us,
              both.rms_us);
}

void table_of_costs() {
  std::printf(
      "| music, coil, voices | cap (periods) | lost %%: delay | placed | placed, phases chosen | moved us: "
      "delay | "
      "placed | placed, phases chosen |\n|---|---|---|---|---|---|---|---|\n");
  for (const double cap : {0.1, 0.2, 0.5})
    row("triads, 40 us and 200 us, 3", testing::triads(), testing::chord_coil(), 3, cap);
  for (const double cap : {0.1, 0.2, 0.5})
    row("four voices, 40 us and 200 us, 4", testing::four_voices(), testing::chord_coil(), 4, cap);
  const Score quayside = read_midi_score(kSamples + "/quayside-lanterns.mid");
  for (const char* coil : {"bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"})
    for (const double cap : {0.1, 0.2, 0.5})
      row(std::string("quayside-lanterns, ") + coil + ", 3", quayside,
          gap_alone(read_profile(kSamples + "/coils/" + coil + ".toml")), 3, cap);
}

void table_of_voices() {
  const Profile profile = read_profile(kSamples + "/coils/half-bridge-325v.toml");
  const Wanted wanted =
      wanted_from_score(read_midi_score(kSamples + "/quayside-lanterns.mid"), profile, {.voices = 4});
  std::printf(
      "| voice | wanted | moved | dropped | RMS move us | pitch jitter cents |\n|---|---|---|---|---|---|\n");
  for (const VoiceReport& it : report_voices(place(wanted.bursts, profile, kDefaultTickHz, wanted.length)))
    std::printf("| %d | %lld | %lld | %lld | %.0f | %.1f |\n", it.voice, static_cast<long long>(it.wanted),
                static_cast<long long>(it.moved), static_cast<long long>(it.dropped), it.rms_move_us,
                it.jitter_cents);
}

// Four minutes of four voices, to standard error: times are no part of the document.
void time_weaving() {
  Score song;
  for (int round = 0; round < 30; ++round)
    for (Note note : testing::four_voices().notes) {
      note.start_s += round * 8, note.end_s += round * 8;
      song.notes.push_back(note);
    }
  song.length_s = 240;
  const Profile profile = read_profile(kSamples + "/coils/half-bridge-325v.toml");
  const auto once = [&] {
    const auto before = std::chrono::steady_clock::now();
    const Wanted wanted = wanted_from_score(song, profile, {.voices = 4});
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - before;
    std::fprintf(stderr, "weaving %zu bursts of 240 s took %.1f ms\n", wanted.bursts.size(), took.count());
  };
  once();  // the coil's table is built on the first round
  once();
}

}  // namespace
}  // namespace burstloom

int main() {
  std::printf(
      "# What placing costs\n\n"
      "Made by `build/release/tests/bench/bench_placement > docs/reference/placement.md`; the same build "
      "writes the "
      "same page.\n\n"
      "Several voices share one spark. *Delay* is the plain way: a burst waits until the coil is free and is "
      "lost when it\n"
      "would wait longer than its cap. *Placed* is Burstloom's guard on the same wanted bursts, at the same "
      "limits and the\n"
      "same cap; with *phases chosen* each note's train begins where it collides least (at most 5 ms or a "
      "period late).\n"
      "Limits other than the gap are set aside here, so that only collisions are measured. Moves are root "
      "mean squares\n"
      "over the bursts that play. The lead weighs more than the rest and moves less for it: the unweighted "
      "move of all is\n"
      "a little more than the least possible.\n\n");
  burstloom::table_of_costs();
  std::printf(
      "\n## Each voice of one song\nquayside-lanterns, half-bridge-325v with all its limits, 4 voices, cap "
      "0.1 of a period.\n\n");
  burstloom::table_of_voices();
  burstloom::time_weaving();
}
