// What placing cost: bursts lost and how far the others moved.
#pragma once

#include <cmath>

#include "burstloom/guard/guard.hpp"

namespace burstloom::testing {

struct PlacingCost {
  double lost = 0;      ///< bursts
  double rms_move = 0;  ///< ticks, of those that play
};

inline PlacingCost placing_cost(const std::vector<WantedBurst>& wanted, const Guarded& guarded) {
  double squares = 0;
  for (std::size_t i = 0; i < guarded.wanted_of.size(); ++i) {
    const auto move =
        static_cast<double>(guarded.stream.bursts[i].start - wanted[guarded.wanted_of[i]].start);
    squares += move * move;
  }
  return {static_cast<double>(guarded.ledger[Fate::dropped]),
          std::sqrt(squares / static_cast<double>(guarded.wanted_of.size()))};
}

}  // namespace burstloom::testing
