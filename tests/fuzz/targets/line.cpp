// The whole line: a coil and options from the first bytes, a MIDI file from the rest; notes, wanted bursts,
// the guard, and the judge, who finds everything within limits.
#include <algorithm>

#include "burstloom/check/judge.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/score/midi.hpp"
#include "burstloom/weave/weave.hpp"
#include "target.hpp"

namespace burstloom::fuzz {
namespace {

constexpr std::size_t kOptions = 4;
// Longer songs only take longer.
constexpr double kLongest_s = 20;
constexpr std::size_t kMostNotes = 400;

const Profile& coil(std::size_t which) {
  static const Profile coils[] = {read_profile(BURSTLOOM_SAMPLES "/coils/bench-36v.toml"),
                                  read_profile(BURSTLOOM_SAMPLES "/coils/half-bridge-325v.toml"),
                                  read_profile(BURSTLOOM_SAMPLES "/coils/full-bridge-560v.toml"),
                                  read_profile(BURSTLOOM_SAMPLES "/coils/continuous-36v.toml")};
  return coils[which % std::size(coils)];
}

void weave_and_judge(std::span<const std::uint8_t> options, const Score& score) {
  const Profile& profile = coil(options[0]);
  const WeaveOptions weave{.tick_hz = 100'000 + 10'000 * std::int64_t{options[1]},
                           .voices = 1 + options[2] % 16,
                           .cap_of_period = (options[3] % 6) / 10.0};
  const auto guarded = unless_refused([&] {
    const Wanted wanted = wanted_from_score(score, profile, weave);
    return place(wanted.bursts, profile, weave.tick_hz, wanted.length,
                 options[3] >= 128 ? Placing::causal : Placing::ahead);
  });
  if (guarded)
    require(judge(guarded->stream, profile).verdict == Verdict::within_limits, "the guard keeps the limits");
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  if (size < kOptions) return 0;
  const std::span<const std::uint8_t> bytes(data, size);
  const auto score = unless_refused(
      [&] { return score_of(parse_midi(bytes.subspan(kOptions), "song.mid", {.salvage = true}), "song"); });
  if (score && score->length_s <= kLongest_s && score->notes.size() <= kMostNotes)
    weave_and_judge(bytes.first(kOptions), *score);
  return 0;
}
