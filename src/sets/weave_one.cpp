#include "burstloom/sets/weave_one.hpp"

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom {
namespace {

std::string what_is_wrong(const Judgement& judgement) {
  if (judgement.violations.empty()) return name_of(judgement.verdict);
  const Violation& first = judgement.violations.front();
  return first.limit + " is " + figure(first.value) + " " + first.unit + " at " + clock_time(first.at_s) +
         ", allowed " + figure(first.allowed) + " " + first.unit;
}

}  // namespace

Woven weave_one(Song song, const Profile& profile, std::int64_t tick_hz, Placing placing,
                const std::string& input) {
  Woven woven{std::move(song), {}, {}};
  woven.guarded = place(woven.song.wanted.bursts, profile, tick_hz, woven.song.wanted.length, placing);
  woven.judgement = judge(woven.guarded.stream, profile);
  if (woven.judgement.verdict != Verdict::within_limits)
    throw Error(Fault::machine,
                "the woven stream did not pass its own check (" + what_is_wrong(woven.judgement) + ")",
                printable(input, 200),
                "nothing was written; please report this with the song and the profile");
  return woven;
}

BurstFile burst_file_of(const Woven& woven, const Profile& profile) {
  return {woven.guarded.stream, woven.song.title, profile.text,
          account_of(woven.song.score, woven.song.wanted, woven.guarded, profile)};
}

}  // namespace burstloom
