// Who sounds: notes shared out to the few voices of one spark.
#pragma once

#include <vector>

#include "burstloom/score/score.hpp"

namespace burstloom::weave_detail {

enum class Role { inner, bass, lead };

/// A note, or what is left of it, in a voice of its own.
struct Sounding {
  std::size_t note = 0;  ///< its index in the score
  double start_s = 0, end_s = 0;
  double key = 69;  ///< as played, folded or not
  int voice = 0;
  Role role = Role::inner;
  bool folded = false, stolen = false;
};

struct Shared {
  std::vector<Sounding> sounding;  ///< in order of start
  std::int64_t skipped = 0, stolen = 0;
};

/// Shares `voices` voices out: when a note comes in and none is free, one of those sounding gives way for
/// good (so nothing flickers): a doubling of another first, else the softest of those that are neither the
/// highest nor the lowest, the oldest of equals. Notes above `highest_hz` are folded down by octaves.
[[nodiscard]] Shared share_voices(const Score& score, int voices, double highest_hz);

}  // namespace burstloom::weave_detail
