#include "burstloom/sets/weave_one.hpp"

#include "burstloom/check/verdict_words.hpp"
#include "burstloom/common/error.hpp"

namespace burstloom {

BurstFile burst_file_of(const Song& song, const Guarded& guarded, const Profile& profile) {
  return {guarded.stream, song.title, profile.text,
          account_of(song.score, song.wanted.fates, guarded, profile)};
}

void require_own_check(const Judgement& judgement, const std::string& input, const std::string& not_done) {
  if (judgement.verdict == Verdict::within_limits) return;
  throw Error(Fault::machine,
              "the woven stream did not pass its own check (" + verdict_words(judgement) + ")",
              printable(input, 200), not_done + "; please report this with the song and the profile");
}

}  // namespace burstloom
