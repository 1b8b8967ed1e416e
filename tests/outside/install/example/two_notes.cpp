// two_notes COIL: weaves a fifth for a coil and has it judged. Exit code 0: within the coil's limits.
#include <cstdio>

#include "burstloom/check/judge.hpp"
#include "burstloom/common/error.hpp"
#include "burstloom/guard/guard.hpp"
#include "burstloom/weave/weave.hpp"

namespace {

burstloom::Score fifth() {
  burstloom::Score score;
  score.title = "A fifth";
  score.length_s = 2;
  score.notes = {{.start_s = 0, .end_s = 2, .key = 57}, {.start_s = 0.5, .end_s = 2, .key = 64}};
  return score;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    const burstloom::Profile profile = burstloom::read_profile(argv[1]);
    const burstloom::WeaveOptions options;
    const burstloom::Wanted wanted = burstloom::wanted_from_score(fifth(), profile, options);
    const burstloom::Guarded guarded =
        burstloom::place(wanted.bursts, profile, options.tick_hz, wanted.length);
    const burstloom::Judgement judgement = burstloom::judge(guarded.stream, profile);
    std::printf("%zu bursts, %s\n", guarded.stream.bursts.size(), burstloom::name_of(judgement.verdict));
    return judgement.verdict == burstloom::Verdict::within_limits ? 0 : 1;
  } catch (const burstloom::Error& error) {
    std::fprintf(stderr, "two_notes: %s\n", error.what());
    return static_cast<int>(error.fault());
  }
}
