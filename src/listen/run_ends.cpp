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

/// Extends the runs' ends that lie in the direction of the walk.
void extend(const Walk& walk, const LookCloser& look) {
  std::ptrdiff_t way = 0;
  for (std::ptrdiff_t at = walk.first(); walk.inside(at); at += walk.towards) {
    const std::ptrdiff_t before = at - walk.towards;
    if (walk.voiced(at)) {
      way = longest_way;
      continue;
    }
    if (way == 0) continue;
    --way;
    const FinePitch next = look(static_cast<std::size_t>(at), walk[before].period_s);
    if (goes_on(walk[before], next))
      walk[at] = next;
    else
      way = 0;
  }
}

}  // namespace

void trim_ends(std::vector<FinePitch>& pitches) {
  trim({pitches, 1});
  trim({pitches, -1});
}

void extend_ends(std::vector<FinePitch>& pitches, const LookCloser& look) {
  extend({pitches, 1}, look);
  extend({pitches, -1}, look);
}

}  // namespace burstloom
