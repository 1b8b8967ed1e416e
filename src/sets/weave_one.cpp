#include "burstloom/sets/weave_one.hpp"

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom {

BurstFile burst_file_of(const Song& song, const Guarded& guarded, const Profile& profile) {
  return {guarded.stream, song.title, profile.text,
          account_of(song.score, song.wanted.fates, guarded, profile)};
}

void require_own_check(const Judgement& judgement, const std::string& input, const std::string& not_done) {
  if (judgement.verdict == Verdict::within_limits) return;
  std::string why = name_of(judgement.verdict);
  if (!judgement.violations.empty()) {
    const Violation& first = judgement.violations.front();
    why = first.limit + " is " + figure(first.value) + " " + first.unit + " at " + clock_time(first.at_s) +
          ", allowed " + figure(first.allowed) + " " + first.unit;
  }
  throw Error(Fault::machine, "the woven stream did not pass its own check (" + why + ")",
              printable(input, 200), not_done + "; please report this with the song and the profile");
}

}  // namespace burstloom
