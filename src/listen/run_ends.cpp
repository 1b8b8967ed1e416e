#include "run_ends.hpp"

#include <cmath>

#include "yin.hpp"

namespace burstloom {
namespace {

constexpr std::ptrdiff_t further_in = 3;    // frames: 15 ms
constexpr std::ptrdiff_t longest_way = 12;  // frames: 60 ms
constexpr float soft_share = 0.25F;         // -12 dB
constexpr float repeats = 0.2F;
constexpr float widest_step_octaves = 0.125F;  // in 5 ms: a semitone and a half

/// The frames seen from one end, so that both ends are handled by the same code: `towards` is 1 or -1.
struct Walk {
  std::vector<FinePitch>& pitches;
  std::ptrdiff_t towards;

  [[nodiscard]] bool inside(std::ptrdiff_t at) const {
    return at >= 0 && at < static_cast<std::ptrdiff_t>(pitches.size());
  }
  [[nodiscard]] FinePitch& operator[](std::ptrdiff_t at) const {
    return pitches[static_cast<std::size_t>(at)];
  }
  [[nodiscard]] bool voiced(std::ptrdiff_t at) const { return inside(at) && (*this)[at].period_s > 0; }
  [[nodiscard]] std::ptrdiff_t first() const {
    return towards > 0 ? 0 : static_cast<std::ptrdiff_t>(pitches.size()) - 1;
  }
};

/// Trims the runs' ends that a walk comes to first.
void trim(const Walk& walk) {
  bool at_end_of_run = true;
  for (std::ptrdiff_t at = walk.first(); walk.inside(at); at += walk.towards) {
    if (!walk.voiced(at)) {
      at_end_of_run = true;
      continue;
    }
    if (!at_end_of_run) continue;
    const std::ptrdiff_t inner = at + walk.towards * further_in;
    at_end_of_run = walk.voiced(inner) && walk[at].level < soft_share * walk[inner].level;
    if (at_end_of_run) walk[at] = {};
  }
}

bool goes_on(const FinePitch& from, const FinePitch& to) {
  return to.mismatch < repeats && to.level > soft_share * from.level &&
         std::abs(std::log2(to.period_s / from.period_s)) < widest_step_octaves &&
         to.period_s * static_cast<float>(lowest_pitch_hz) < 1.0F &&
         to.period_s * static_cast<float>(highest_pitch_hz) > 1.0F;
}

/// Extends the run that ends before `at` in the direction of the walk.
void extend(const Walk& walk, std::ptrdiff_t at, const LookCloser& look) {
  if (!walk.voiced(at - walk.towards)) return;
  for (std::ptrdiff_t way = 0; way < longest_way && walk.inside(at) && !walk.voiced(at); ++way) {
    const FinePitch& before = walk[at - walk.towards];
    const FinePitch next = look(static_cast<std::size_t>(at), before.period_s);
    if (!goes_on(before, next)) return;
    walk[at] = next;
    at += walk.towards;
  }
}

}  // namespace

void trim_ends(std::vector<FinePitch>& pitches) {
  trim({pitches, 1});
  trim({pitches, -1});
}

// Gap after gap, so that the sound is gone through once.
void extend_ends(std::vector<FinePitch>& pitches, const LookCloser& look) {
  const Walk onwards{pitches, 1}, back{pitches, -1};
  for (std::ptrdiff_t at = 0; onwards.inside(at);) {
    if (onwards.voiced(at)) {
      ++at;
      continue;
    }
    std::ptrdiff_t past = at;
    while (onwards.inside(past) && !onwards.voiced(past)) ++past;
    extend(onwards, at, look);
    extend(back, past - 1, look);
    at = past;
  }
}

}  // namespace burstloom
