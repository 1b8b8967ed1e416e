// Takes bursts out of a voice evenly.
#pragma once

#include <array>
#include <cstddef>

namespace burstloom::guard_detail {

/// Of a voice that keeps two thirds of its bursts every third one goes.
template <std::size_t Voices>
class Decimator {
 public:
  /// Whether the voice's next burst stays, if `part` (0 to 1) of its bursts are to.
  bool keeps(std::size_t voice, double part) {
    if (part >= 1) return true;
    double& owed = owed_[voice < Voices ? voice : Voices - 1];
    owed += part;
    if (owed < 1) return false;
    owed -= 1;
    return true;
  }

 private:
  std::array<double, Voices> owed_{};
};

}  // namespace burstloom::guard_detail
