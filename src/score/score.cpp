#include "burstloom/score/score.hpp"

#include <cmath>

namespace burstloom {

double key_hz(double key) {
  return 440.0 * std::exp2((key - 69.0) / 12.0);
}

}  // namespace burstloom
