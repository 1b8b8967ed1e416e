// An arrangement, and a small score as it has it.
#include "burstloom/score/arrangement.hpp"

#include <cmath>

#include "target.hpp"

namespace burstloom::fuzz {
namespace {

Score small_score() {
  Score score;
  score.title = "Three channels";
  score.length_s = 4;
  for (int i = 0; i < 12; ++i)
    score.notes.push_back({.start_s = i * 0.3,
                           .end_s = i * 0.3 + 0.25,
                           .key = i % 3 == 2 ? 38.0 : 48.0 + i,
                           .velocity = 0.7,
                           .channel = i % 3 == 2 ? 9 : i % 3,
                           .part = i % 3 == 2 ? Part::drums : Part::any});
  return score;
}

}  // namespace
}  // namespace burstloom::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace burstloom;
  using namespace burstloom::fuzz;
  const auto score = unless_refused([&] {
    return arranged(small_score(), parse_arrangement(text_of({data, size}), "arrangement.toml"));
  });
  if (!score) return 0;
  double before = 0;
  for (const Note& note : score->notes) {
    require(note.start_s >= before && note.end_s >= note.start_s && std::isfinite(note.end_s) &&
                std::isfinite(note.key),
            "notes stay in order and have a pitch");
    before = note.start_s;
  }
  return 0;
}
